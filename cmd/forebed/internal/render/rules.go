package render

import "forebed/rules"

// Rules composes a list of rules.
func Rules(all []*rules.Rule) []Block {
	d := &draft{}
	var rows [][]string
	for _, r := range all {
		level := string(r.Level)
		if r.Strength != "" {
			level += " (" + string(r.Strength) + ")"
		}
		rows = append(rows, []string{r.ID, level, string(r.AppliesTo), r.Title})
	}
	d.table([]string{"id", "level", "judged at", "rule"}, rows)
	d.para(Count(len(rows), "rule") + ". forebed rules explain ID shows one with its reason, remedy and source.")
	return d.blocks
}

// Quantities composes a list of what conditions may name.
func Quantities(all []rules.QuantityInfo) []Block {
	d := &draft{}
	var rows [][]string
	for _, q := range all {
		rows = append(rows, []string{q.Name, q.Units, q.Title})
	}
	d.table([]string{"quantity", "units", "meaning"}, rows)
	d.para("A limit states its unit: {quantity: iron_dissolved, above: {value: 0.1, unit: mg/L}}. What is a yes or a no takes present: true or present: false.")
	return d.blocks
}
