package calibrate

import (
	"math"
	"math/rand/v2"
	"slices"

	"forebed/chem/unit"
)

// Habit is the use of the rig: litres a day in each month, January first.
type Habit [12]float64

// habitPrior is how many days of expected use count against the log.
const habitPrior = 30.0

// Stretch is water drawn between two readings of a meter.
type Stretch struct {
	From, To float64 // days since the first of January 1970
	Used     unit.Litres
}

// Learn returns the habit that the log shows, spread evenly over the days of
// each stretch. What the log shows of all months together scales what was
// expected of each, and a month that it covers goes by itself.
func (h Habit) Learn(stretches []Stretch) Habit {
	var days, litres Habit
	for _, s := range stretches {
		from, to := math.Floor(s.From), math.Floor(s.To)
		if to <= from { // two readings of one day
			to = from + 1
		}
		for d := from; d < to; d++ {
			days[monthOf(d)]++
			litres[monthOf(d)] += float64(s.Used) / (to - from)
		}
	}
	var expected, seen, busiest float64
	for m := range h {
		expected += h[m] * days[m]
		seen += litres[m]
		busiest = max(busiest, h[m])
	}
	scale := 1.0
	if base := habitPrior * busiest; base > 0 {
		scale = (seen + base) / (expected + base)
	}
	for m := range h {
		h[m] = (scale*h[m]*habitPrior + litres[m]) / (habitPrior + days[m])
	}
	return h
}

// monthOf returns the month of a day since the first of January 1970, 0 for
// January, by the mean Gregorian year: within two days of the calendar.
func monthOf(day float64) int {
	year := math.Mod(day, yearDays)
	if year < 0 {
		year += yearDays
	}
	return min(int(year/yearDays*12), 11)
}

// useSpread is how far a stretch of use departs from the habit, in its
// logarithm. Common practice, no source.
const useSpread = 0.25

// Forecast is how much is left of the fill in service.
type Forecast struct {
	Life   Band    // of this fill, in litres
	Left   Band    // in litres; 0 past the end
	Days   Band    // to the end by the habit; +Inf where it lies beyond the horizon
	Ended  float64 // probability that the end has passed
	Usable Band    // what a fill of this vessel lasts on the plan's water, over the plan's median
	Load   Band    // of the feed now, over the plan's water
	Pen    Band    // what the pen will show at the end, its offset included, ppm
	Offset Band    // what the pen behind the vessel is off, ppm
	Worth  float64 // number of equal draws behind the figures

	left        []float64 // sorted
	silicaLeads bool
}

// Forecast runs every state on until its fill ends, by the habit of use and
// along its own path of the feed, for at most horizon days.
func (m *Model) Forecast(h Habit, horizon float64, seed uint64) Forecast {
	rng := rand.New(rand.NewPCG(seed, 0x6c6566746f766572))
	n := len(m.states)
	life, left, days, usable, load, pen, offset := make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n), make([]float64, n)
	f := Forecast{Worth: m.worth, left: left, silicaLeads: m.prior.Shape.Silica(1) > silicaMark}
	past := m.lived[len(m.lived)-1].x
	for i := range m.states {
		s := &m.states[i]
		total := s.usable * s.fill
		left[i], days[i] = m.run(s, total-past, h, horizon, math.Exp(useSpread*rng.NormFloat64()))
		life[i] = float64(m.current.Used) + left[i]
		if total < past {
			life[i] = float64(m.current.Used) * total / past
			f.Ended += 1 / float64(n)
		}
		usable[i] = s.usable
		load[i] = math.Exp(m.loadAt(s, m.current.Day))
		shape := m.shapeOf(s)
		pen[i] = max(0, shape.Pen(1)+s.offset)
		offset[i] = s.offset
	}
	f.Life, f.Left, f.Days, f.Usable, f.Load, f.Pen, f.Offset = bandOf(life), bandOf(left), bandOf(days), bandOf(usable), bandOf(load), bandOf(pen), bandOf(offset)
	slices.Sort(f.left)
	return f
}

// shapeOf is the curve of a state.
func (m *Model) shapeOf(s *state) Shape {
	shape := m.prior.Shape.later(s.factor)
	shape.Carbonic *= s.height
	shape.Band *= s.height
	if shape.Feed == 0 {
		shape.Feed = m.ref
	}
	return shape
}

// loadAt is the logarithm of the load on the state's path, its common level
// taken out because u holds it.
func (m *Model) loadAt(s *state, day float64) float64 {
	return m.feed.at(m.feed.paths[s.path], day) - m.level[s.path]
}

// stepDays is the step of the walk into the future.
const stepDays = 7.0

// run returns the litres and days until the exposure is used up. Where the
// habit does not get there within the horizon, the litres are those at the
// load of its last step.
func (m *Model) run(s *state, exposure float64, h Habit, horizon, pace float64) (litres, days float64) {
	if exposure <= 0 {
		return 0, 0
	}
	load := math.Exp(m.loadAt(s, m.current.Day))
	for d := 0.0; d < horizon; d += stepDays {
		day := m.current.Day + d + stepDays/2
		used := pace * h[monthOf(day)] * stepDays
		load = math.Exp(m.loadAt(s, day))
		spent := used * load / m.median
		if spent >= exposure {
			part := exposure / spent
			return litres + part*used, d + part*stepDays
		}
		exposure -= spent
		litres += used
	}
	return litres + exposure*m.median/load, math.Inf(1)
}

// Point is one place of a predicted curve.
type Point struct {
	Used    float64 // litres through this fill
	Product Band    // what the pen shows, its offset included, ppm
	Residue Band    // dry residue, mg/L
}

// Curve returns what is expected of the fill in service from its first litre
// to the given volume, in so many steps, for a picture with the readings upon
// it.
func (m *Model) Curve(to unit.Litres, steps int) []Point {
	past := m.lived[len(m.lived)-1].x
	perLitre := math.Exp(m.loads[len(m.loads)-1]) / m.median
	points := make([]Point, 0, steps+1)
	product, residue := make([]float64, len(m.states)), make([]float64, len(m.states))
	shapes := make([]Shape, len(m.states))
	for i := range m.states {
		shapes[i] = m.shapeOf(&m.states[i])
	}
	for k := range steps + 1 {
		used := float64(to) * float64(k) / float64(steps)
		for i := range m.states {
			s := &m.states[i]
			x := used * perLitre
			if ahead := used - float64(m.current.Used); ahead > 0 {
				x = past + ahead*math.Exp(m.loadAt(s, m.current.Day))/m.median
			}
			t := x / (s.usable * s.fill)
			product[i], residue[i] = max(0, shapes[i].Pen(t)+s.offset), shapes[i].Residue(t)
		}
		points = append(points, Point{used, bandOf(product), bandOf(residue)})
	}
	return points
}
