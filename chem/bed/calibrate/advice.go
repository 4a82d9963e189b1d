package calibrate

import (
	"cmp"
	"fmt"
	"math"
	"slices"
)

// Advice is what to do about the fill in service.
type Advice string

// The advices, mildest first.
const (
	Fine          Advice = "fine"
	TestSilica    Advice = "test_silica_now"
	BeforeBigJob  Advice = "refill_before_the_next_big_job"
	RefillNow     Advice = "refill_now"
	doubt                = 0.10 // probability of spots from which a fill is no longer fine
	moreThanHalf         = 0.50
	driftedBeyond        = 0.10 // of the feed's load, from which a new water test is asked for
)

// Within returns the probability that the end comes within so many litres.
func (f *Forecast) Within(litres float64) float64 {
	n, _ := slices.BinarySearchFunc(f.left, litres, func(l, x float64) int {
		if l <= x {
			return -1
		}
		return 1
	})
	return float64(n) / float64(len(f.left))
}

// Advise says what to do, given the litres of the next big job. A silica test
// is advised where it can settle the doubt: silica shows in a test before any
// pen moves, if the feed holds silica.
func (f *Forecast) Advise(bigJob float64) Advice {
	job := f.Within(bigJob)
	switch {
	case f.Ended >= moreThanHalf:
		return RefillNow
	case job >= moreThanHalf:
		return BeforeBigJob
	case job >= doubt && f.silicaLeads:
		return TestSilica
	case job >= doubt:
		return BeforeBigJob
	}
	return Fine
}

// Drifted reports whether the load of the feed has left that of the plan's
// water by more than a tenth in 90 % of the draws, so that a new water test is
// due.
func (f *Forecast) Drifted() bool {
	return f.Load.P10 > 1+driftedBeyond || f.Load.P90 < 1-driftedBeyond
}

// Setting is what the order of the causes depends on.
type Setting struct {
	Softener, Membrane bool // among the stages
	Iron               bool // the feed of the vessel holds iron
	Chlorine           bool // the supply is chlorinated
	Fills              int  // finished
	Shrinking          bool // the last finished fill lasted less than 0.85 of the first
}

// Cause is what may have made a fill end sooner or later than planned, and the
// test that tells it from the others.
type Cause struct {
	ID     string
	Text   string
	Test   string
	Weight float64 // for the order only
}

// Contradiction says that the log does not fit the plan.
type Contradiction struct {
	Sooner  bool    // else later
	Life    float64 // median of this fill, litres
	P5, P95 float64 // of the plan, litres
	Causes  []Cause // likeliest first
}

// Contradicts compares the life of the fill in service with the plan's: nil
// where the median lies between the plan's P5 and P95.
func (m *Model) Contradicts(f *Forecast, rig Setting) *Contradiction {
	c := Contradiction{Life: f.Life.P50, P5: quantile(m.sorted, 0.05), P95: quantile(m.sorted, 0.95)}
	c.Sooner = c.Life < c.P5
	if !c.Sooner && c.Life <= c.P95 {
		return nil
	}
	c.Causes = causes(f, rig, c.Sooner)
	return &c
}

// causes weighs the causes by what the log shows of each. The weights put an
// order on a list and have no source: they are judgements.
func causes(f *Forecast, rig Setting, sooner bool) []Cause {
	strength := 1.0 // of the feed's change in the direction that explains it
	if (f.Load.P50 > 1) == sooner {
		strength += 30 * math.Abs(math.Log(f.Load.P50))
	} else {
		strength = 0.3
	}
	if !sooner {
		list := []Cause{
			{"meter_drift", "the water meter counts too much", "run five gallons (20 L) into a measured bucket and compare the meter", 1.0},
			{"fill_volume", "the vessel holds more resin than the plan says", "weigh the next fill, or measure the bed's depth and diameter", 0.9},
			{"end_unseen", "the end has passed without being seen: silica leaves no trace on a pen", "test the product for silica", 1.2},
		}
		if f.Load.P50 < 1 {
			list = append(list, Cause{"feed_changed", fmt.Sprintf("the feed carries %.2f times the load of the plan's water", f.Load.P50), "read the feed with the pen, and order a new water test", strength})
		}
		return ordered(list)
	}
	feed := fmt.Sprintf("the feed carries %.2f times the load of the plan's water, or other ions", f.Load.P50)
	if strength <= 2 {
		feed = "the feed has changed in what the pen does not see: carbon dioxide and silica"
	}
	once := 1.0 // of what would show on the first fill already
	if rig.Fills == 0 {
		once = 1.3
	}
	grows := 0.6 // of what gets worse from fill to fill
	if rig.Shrinking {
		grows = 2.5
	}
	list := []Cause{
		{"feed_changed", feed, "read the feed with the pen, and order a new water test with alkalinity, pH and silica", strength},
		{"fill_volume", "the vessel holds less resin than the plan says, or resin that is not new", "weigh the next fill, or measure the bed's depth and diameter; ask the seller for the condition", once},
		{"channeling", "water finds a way past the resin, or runs faster than planned", "read the pen at half the flow: if it falls, the water runs too fast or channels", max(0.8, 0.5*f.Offset.P10)},
		{"meter_drift", "the water meter counts too little", "run five gallons (20 L) into a measured bucket and compare the meter", 0.7},
	}
	if rig.Membrane {
		list = append(list, Cause{"membrane", "the reverse osmosis membrane lets more through", "read feed and permeate with the pen: rejection below 85 % is the end of a membrane", 1.5 * strength})
	}
	if rig.Iron {
		list = append(list, Cause{"iron", "iron has coated the resin", "look for brown beads; a laboratory's acid soak that gives more than 5 mg/L of iron tells fouled resin (treatment ledger D08)", grows})
	}
	if rig.Softener {
		list = append(list, Cause{"softener_bypass", "the softener lets hardness and iron by (hardness by itself does not shorten the bed's life, iron does)", "test hardness behind the softener, and look at its bypass valve and salt", 0.8 * grows})
	}
	if rig.Chlorine {
		list = append(list, Cause{"chlorine", "chlorine has reached the resin", "hold a chlorine strip into the water behind the carbon; beads gone soft and swollen are past help", grows})
	} else {
		list = append(list, Cause{"chlorine", "the well was shock-chlorinated without a bypass", "hold a chlorine strip into the feed; think back to the last disinfection of the well", 0.3 * grows})
	}
	return ordered(list)
}

func ordered(list []Cause) []Cause {
	slices.SortStableFunc(list, func(a, b Cause) int { return cmp.Compare(b.Weight, a.Weight) })
	return list
}
