package riglog

import (
	"bufio"
	"fmt"
	"io"

	"forebed/chem/bed/calibrate"
	"forebed/chem/unit"
	"forebed/cmd/forebed/internal/render"
	"forebed/rules"
)

// adviceWords says an advice to a person.
var adviceWords = map[calibrate.Advice]string{
	calibrate.Fine:         "fine",
	calibrate.TestSilica:   "test silica now",
	calibrate.BeforeBigJob: "refill before the next big job",
	calibrate.RefillNow:    "refill now",
}

// WriteText prints a forecast, stop cautions of the plan first.
func (r *Report) WriteText(w io.Writer, u render.Units) error {
	b := bufio.NewWriter(w)
	row := func(label, format string, args ...any) {
		fmt.Fprintf(b, "  %-15s %s\n", label, fmt.Sprintf(format, args...))
	}
	for _, s := range r.Stops {
		fmt.Fprintf(b, "STOP: %s\n", s)
	}
	fmt.Fprintf(b, "Fill %d, in service since %s, as of the entry of %s\n\n", r.Fill, r.Since, r.AsOf)
	row("advice", "%s: %s", adviceWords[calibrate.Advice(r.Advice)], r.Why)
	rinses := ""
	if r.Rinses.P50 > 0 || r.Rinses.P90 > 0 {
		rinses = fmt.Sprintf(", %s rinses (%s to %s)", render.Figures(r.Rinses.P50, 2), render.Figures(r.Rinses.P10, 2), render.Figures(r.Rinses.P90, 2))
	}
	row("left", "%s%s", volumes(u, r.Left), rinses)
	row("end by use", "%s", r.Day.text())
	row("used", "%s since the refill", exact(u, r.Used))
	row("this fill", "%s; the plan said %s", volumes(u, r.Life), volumes(u, r.PlanLife))
	row("already over", "in %s of the draws", render.Percent(r.Ended))
	row("usable", "%s (%s to %s) of what the plan expects of this vessel", render.Ratio(r.Usable.P50), render.Ratio(r.Usable.P10), render.Ratio(r.Usable.P90))
	row("feed", "%s (%s to %s) of the load that the plan reckons with", render.Ratio(r.Load.P50), render.Ratio(r.Load.P10), render.Ratio(r.Load.P90))
	row("pen at the end", "%s ppm (%s to %s)", render.Figures(r.PenAtEnd.P50, 2), render.Figures(r.PenAtEnd.P10, 2), render.Figures(r.PenAtEnd.P90, 2))
	if r.PenAtEnd.P50-r.PenOffset.P50 < 2 {
		row("", "the pen hardly moves before the end: go by the volume and by a silica test")
	}
	if o := r.PenOffset; o.P10 > 0.5 {
		row("", "behind the vessel the pen shows about %s ppm too much (%s to %s)", render.Figures(o.P50, 2), render.Figures(o.P10, 2), render.Figures(o.P90, 2))
	}
	var ppm []float64
	high := penRange
	for _, p := range r.Readings {
		if p.Product != nil {
			ppm = append(ppm, *p.Product)
			high = max(high, *p.Product)
		}
	}
	if len(ppm) > 1 {
		row("product so far", "%s  drawn from 0 to %s ppm", Sparkline(ppm, high), number(high))
	}
	if c := r.Contradiction; c != nil {
		fmt.Fprintf(b, "\nThe log contradicts the plan: %s\n", c.text(u, r))
		for i, k := range c.Causes {
			fmt.Fprintf(b, "  %d. %s\n     to tell: %s\n", i+1, k.Text, k.Test)
		}
	}
	for _, a := range r.Asks {
		fmt.Fprintf(b, "\nAsk for %s.\n", a)
	}
	fmt.Fprintf(b, "\nIn brackets P10 to P90. Run length is computed, not measured; this log is its calibration. Past its end\na mixed bed can give acid or caustic water and let go what it held: it is no drinking water at any time.\n")
	for _, a := range r.Assumptions {
		fmt.Fprintf(b, "Assumed: %s.\n", a)
	}
	return b.Flush()
}

func volumes(u render.Units, v rules.Band) string {
	return fmt.Sprintf("%s (%s)", u.Volume(v.P50), u.VolumeRange(v.P10, v.P90))
}

// text says the days in words; one that lies beyond the horizon is named so.
func (d *Days) text() string {
	or := func(s string) string {
		if s == "" {
			return fmt.Sprintf("more than %.0f years away", horizonDays/365.25)
		}
		return s
	}
	if d.P10 == "" {
		return or("")
	}
	return fmt.Sprintf("%s (%s to %s), by the habit of use", or(d.P50), d.P10, or(d.P90))
}

// text says a contradiction in the units of the reader.
func (c *Contradiction) text(u render.Units, r *Report) string {
	end := "later"
	if c.Sooner {
		end = "sooner"
	}
	return fmt.Sprintf("a fill of this rig ends %s than it allows for, at about %s. Likely causes, the likeliest first:", end, u.Volume(r.Life.P50))
}

// RefillDue returns the early day of the end as a task of the calendar, and
// whether there is one.
func (r *Report) RefillDue() (Due, bool) {
	d, err := ParseDate(r.Day.P10)
	if err != nil {
		return Due{}, false
	}
	return Due{
		Stage: Vessel, Title: "DI vessel", Task: "have the refill ready", Day: d,
		Trigger: "silica of 1 mg/L or more in the product, or spots",
		Source:  fmt.Sprintf("P10 of the forecast as of %s, with %.0f L left at the median", r.AsOf, unit.Litres(r.Left.P50)),
	}, true
}
