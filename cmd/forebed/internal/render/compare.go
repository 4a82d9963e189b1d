package render

import (
	"encoding/csv"
	"fmt"
	"io"
	"strconv"
	"strings"

	"forebed/rules"
)

// Comparison composes rigs and plans side by side.
func Comparison(c *rules.Comparison, u Units) []Block {
	d := &draft{}
	d.title("Rigs and plans side by side")
	d.lead(fmt.Sprintf("Over the same %d draws (seed %d). P50 first, P10 to P90 behind it. Prices are defaults unless you gave yours.", c.Draws, c.Seed))
	if len(c.Cautions) > 0 {
		d.heading("Stop: settle this first")
		for _, x := range c.Cautions {
			d.caution(x)
		}
	}
	money := func(v float64) string { return Money(c.Currency, v) }
	span := func(b rules.Band) string {
		return fmt.Sprintf("%s (%s to %s)", money(b.P50), money(b.P10), money(b.P90))
	}
	d.heading("What each costs")
	var rows [][]string
	for i, r := range c.Rows {
		rows = append(rows, []string{c.RowName(i), money(r.First.P50), span(r.PerYear), span(r.Horizon), money(r.PerRinse.P50), Percent(r.CheapestOdds)})
	}
	d.table([]string{"", ">to buy", ">a year", ">over the horizon", ">a rinse", ">cheapest in"}, rows)
	d.heading("What each gives")
	rows = nil
	for i, r := range c.Rows {
		rows = append(rows, []string{c.RowName(i), u.Volume(r.Life.P50), Percent(r.UsableCation.P50) + ", " + Percent(r.UsableAnion.P50), Figures(r.RefillsYear.P50, 2), Figures(r.UpkeepHours.P50, 2), u.Volume(r.WasteWater.P50), u.Resin(r.ResinDumped.P50)})
	}
	d.table([]string{"", ">a fill lasts", ">capacity that serves, cation, anion", ">refills a year", ">h a year", ">waste a year", ">resin thrown away a year"}, rows)
	const shown = 6 // refills named in a row
	for i, r := range c.Rows {
		d.item(c.RowName(i) + ": " + stagesOf(r) + statusOf(r))
		if len(r.Refills) > 0 {
			var when []string
			for _, f := range r.Refills[:min(len(r.Refills), shown)] {
				when = append(when, f.Text)
			}
			if len(r.Refills) > shown {
				when = append(when, "and so on")
			}
			d.sub("Refills: " + strings.Join(when, "; ") + ".")
		}
		if r.BottleNeck != "" {
			d.sub(sentence(r.BottleNeck))
		}
		for _, b := range r.Blocks {
			text := sentence(b.Sentence)
			if b.Working != "" {
				text += " Here: " + sentence(b.Working)
			}
			d.sub(text)
		}
	}
	if len(c.Odds) > 0 {
		d.heading("How often one is cheaper")
		for _, o := range c.Odds {
			d.item(fmt.Sprintf("%s costs less than %s in %s of the draws; over the horizon it %s.", c.RowName(o.A), c.RowName(o.B), Percent(o.Cheaper), difference(c.Currency, o.Saving)))
		}
	}
	texts(d, "When it has paid back", c.BreakEvens, func(b rules.BreakEven) string { return b.Text })
	texts(d, "Where the choice flips", c.Flips, func(f rules.Flip) string { return f.Text })
	if len(c.Sensitivity) > 0 {
		d.heading("What moves the answer most")
		rows = nil
		for _, s := range c.Sensitivity {
			rows = append(rows, []string{c.RowName(s.Row), s.Input, s.Low + ": " + money(s.AtLow), s.High + ": " + money(s.AtEnd)})
		}
		d.table([]string{"", "input", "at its low end", "at its high end"}, rows)
	}
	capacityTable(d, c, u)
	return d.blocks
}

func texts[T any](d *draft, heading string, all []T, text func(T) string) {
	if len(all) == 0 {
		return
	}
	d.heading(heading)
	for _, x := range all {
		d.item(text(x))
	}
}

func stagesOf(r rules.CompareRow) string {
	if len(r.Stages) == 0 {
		return "no stages."
	}
	var names []string
	for _, s := range r.Stages {
		names = append(names, s.Title)
	}
	return strings.Join(names, " -> ") + "."
}

func statusOf(r rules.CompareRow) string {
	switch r.Status {
	case rules.StatusNone:
		return " It breaks a must limit."
	case rules.StatusConditional:
		return " It may break a must limit: a test settles it."
	}
	return ""
}

// difference says a saving, or what is the reverse of one.
func difference(currency string, saving rules.Band) string {
	if saving == (rules.Band{}) {
		return "costs the same"
	}
	if saving.P10 < 0 && saving.P90 > 0 { // nobody knows which way
		word := func(x float64) string {
			if x < 0 {
				return Money(currency, -x) + " more"
			}
			return Money(currency, x) + " less"
		}
		return fmt.Sprintf("costs %s (%s to %s)", word(saving.P50), word(saving.P10), word(saving.P90))
	}
	verb, mid, low, high := "saves", saving.P50, saving.P10, saving.P90
	if mid < 0 {
		verb, mid, low, high = "costs", -mid, -high, -low
	}
	text := fmt.Sprintf("%s %s (%s to %s)", verb, Money(currency, mid), Money(currency, low), Money(currency, high))
	if verb == "costs" {
		text += " more"
	}
	return text
}

func capacityTable(d *draft, c *rules.Comparison, u Units) {
	if len(c.Capacity) == 0 {
		return
	}
	d.heading("What a fill gives against the strength of the feed")
	var rows [][]string
	var whys []string
	for i, r := range c.Capacity {
		rows = append(rows, []string{r.Water, r.Rig, Figures(r.TDS, 3), u.Volume(r.Life.P50), u.VolumeRange(r.Life.P10, r.Life.P90), u.Volume(r.Thumb)})
		if i == 0 || r.Water != c.Capacity[i-1].Water || r.Rig != c.Capacity[i-1].Rig {
			whys = append(whys, strings.Trim(r.Water+", "+r.Rig, ", ")+": "+sentence(r.Why))
		}
	}
	d.table([]string{"water", "rig", ">TDS mg/L", ">a fill gives", ">range", ">rule of thumb"}, rows)
	for _, why := range whys {
		d.item(why)
	}
}

// ComparisonCSV writes the rows of a comparison for a spreadsheet, with the
// unit in the name of each column.
func ComparisonCSV(w io.Writer, c *rules.Comparison) error {
	out := csv.NewWriter(w)
	head := []string{"water", "rig", "plan", "stages", "status", "currency"}
	bands := []string{"first_cost", "cost_per_year", "cost_over_horizon", "cost_per_rinse", "life_l", "refills_per_year", "upkeep_h_per_year", "waste_water_l_per_year", "resin_to_landfill_l_per_year"}
	for _, b := range bands {
		head = append(head, b+"_p10", b+"_p50", b+"_p90")
	}
	if err := out.Write(append(head, "cheapest_share", "payback", "flips")); err != nil {
		return err
	}
	for i, r := range c.Rows {
		var kinds []string
		for _, s := range r.Stages {
			kinds = append(kinds, string(s.Kind))
		}
		row := []string{r.Water, r.Rig, r.Plan, strings.Join(kinds, " "), string(r.Status), c.Currency}
		for _, b := range []rules.Band{r.First, r.PerYear, r.Horizon, r.PerRinse, r.Life, r.RefillsYear, r.UpkeepHours, r.WasteWater, r.ResinDumped} {
			for _, v := range []float64{b.P10, b.P50, b.P90} {
				row = append(row, strconv.FormatFloat(Round(v, 6), 'f', -1, 64))
			}
		}
		var paid, flips []string
		for _, b := range c.BreakEvens {
			if b.Row == i {
				paid = append(paid, b.Text)
			}
		}
		for _, f := range c.Flips {
			if f.A == i || f.B == i {
				flips = append(flips, f.Text)
			}
		}
		row = append(row, strconv.FormatFloat(Round(r.CheapestOdds, 3), 'f', -1, 64), strings.Join(paid, "; "), strings.Join(flips, "; "))
		if err := out.Write(row); err != nil {
			return err
		}
	}
	out.Flush()
	return out.Error()
}
