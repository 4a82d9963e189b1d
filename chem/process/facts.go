package process

import (
	"fmt"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// enter begins an outcome: the water as it came, nothing wasted, its windows
// judged.
func (f *Facts) enter(in *water.Water) Outcome {
	o := Outcome{Out: *in, Use: Use{Feed: 1}}
	o.Outside, o.Unsure = judge(f.Windows, in)
	return o
}

// refuses reports whether a broken window means that the stage does not work.
func (f *Facts) refuses(outside Set) bool {
	for i := range outside.All() {
		if f.Windows[i].Effect == Refuses {
			return true
		}
	}
	return false
}

// settle closes the water of an outcome after its ions were changed: the
// carbonate system takes up what the strong ions gained or lost.
func (o *Outcome) settle(s Stage, carbon unit.MmolPerL) error {
	w, err := o.Out.WithCarbon(carbon)
	if err != nil {
		return fmt.Errorf("%s: %w", s.Title(), err)
	}
	o.Out = w
	return nil
}

// judge returns which windows a water breaks and which it cannot tell.
func judge(windows []Window, w *water.Water) (outside, unsure Set) {
	for i := range windows {
		x := &windows[i]
		if !x.Quantity.Known(w) {
			unsure |= 1 << i
			continue
		}
		if v := x.Quantity.Of(w); v < x.Low || v > x.High {
			outside |= 1 << i
		}
	}
	return outside, unsure
}
