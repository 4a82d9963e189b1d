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
	d.para(count(len(rows), "rule") + ". forebed rules explain ID shows one with its reason, remedy and source.")
	return d.blocks
}
