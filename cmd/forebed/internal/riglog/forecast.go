package riglog

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"forebed/chem/bed"
	"forebed/chem/bed/calibrate"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
	"forebed/rules"
	"forebed/schemas"
)

// Basis is what a forecast rests on beside the log.
type Basis struct {
	Plan      *rules.Plan
	Untreated bool       // the stages of the plan are not built: the raw water feeds the vessel
	Rig       *rules.Rig // nil if no rig document was given
	FeedPPM   float64    // what the pen shows of the plan's water ahead of the vessel; 0 if unknown
	BigJob    float64    // litres of the next big job; 0 for the busiest day
	Seed      uint64
}

// horizonDays is how far a forecast looks ahead.
const horizonDays = 3 * 365.25

// draws of the prior that are made from the three figures of a plan.
const priorDraws = 400

// ForecastVersion is the version field of the forecast document.
const ForecastVersion = "forebed.forecast/1"

// Report is a forecast with everything that is said about it. Volumes are in
// litres.
type Report struct {
	Version       string         `json:"version"`
	AsOf          string         `json:"as_of"`
	Fill          int            `json:"fill"`
	Since         string         `json:"filled"`
	Used          float64        `json:"used_l"`
	Life          rules.Band     `json:"life_l"`
	PlanLife      rules.Band     `json:"plan_life_l"`
	Left          rules.Band     `json:"left_l"`
	Rinses        rules.Band     `json:"rinses_left"`
	Day           Days           `json:"end"`
	Ended         float64        `json:"probability_ended"`
	Advice        string         `json:"advice"`
	Why           string         `json:"advice_why"`
	Usable        rules.Band     `json:"usable_over_plan"`
	Load          rules.Band     `json:"feed_load_over_plan"`
	PenAtEnd      rules.Band     `json:"pen_ppm_at_end"`
	PenOffset     rules.Band     `json:"pen_offset_ppm"`
	Contradiction *Contradiction `json:"contradiction,omitempty"`
	Asks          []string       `json:"asks"`
	Stops         []string       `json:"stop_cautions"`
	Assumptions   []string       `json:"assumptions"`
	Curve         []CurvePoint   `json:"curve"`
	Readings      []ReadingPoint `json:"readings"`
	Limit         float64        `json:"residue_limit_mg_per_l"`
	Worth         float64        `json:"effective_draws"`
}

// Days are dates; empty where the habit does not get there within the horizon.
type Days struct {
	P10 string `json:"p10"`
	P50 string `json:"p50"`
	P90 string `json:"p90"`
}

// Contradiction says that the log does not fit the plan.
type Contradiction struct {
	Sooner bool    `json:"sooner"` // else later
	Text   string  `json:"text"`
	Causes []Cause `json:"causes"` // likeliest first
}

// Cause is a likely cause, and the test that tells it from the others.
type Cause struct {
	ID   string `json:"id"`
	Text string `json:"text"`
	Test string `json:"test"`
}

// CurvePoint is a place of the predicted band.
type CurvePoint struct {
	Used    float64    `json:"used_l"`
	Product rules.Band `json:"product_ppm"`
	Residue rules.Band `json:"residue_mg_per_l"`
}

// ReadingPoint is what was read in the fill in service.
type ReadingPoint struct {
	Date    string   `json:"date"`
	Used    float64  `json:"used_l"`
	Product *float64 `json:"product_ppm,omitempty"`
	Silica  *float64 `json:"silica_mg_per_l,omitempty"`
}

// Forecast learns from a log and says how much of its last fill is left.
func Forecast(l *Log, b Basis) (*Report, error) {
	points := l.Points()
	runs := Fills(points)
	if len(runs) == 0 {
		return nil, schemas.Problems{{File: l.File, Found: "no refill", Want: "the refill that started the fill in service",
			Remedy: "write it down late, such as forebed log refill --out-of-order --date 2026-04-01 --meter 0 --reason schedule " + l.File, Err: schemas.ErrInvalid}}
	}
	prior, err := b.prior()
	if err != nil {
		return nil, err
	}
	fills := make([]calibrate.Fill, len(runs))
	for i := range runs {
		fills[i] = runs[i].fill()
	}
	m, err := calibrate.Learn(prior, fills, horizonDays, b.Seed)
	if err != nil {
		return nil, err
	}
	habit, guessed := b.habit()
	f := m.Forecast(habit.Learn(stretches(points)), horizonDays, b.Seed)
	last := runs[len(runs)-1]
	day := last.lastRead().Date
	rinse := b.Plan.Demand.RinseL
	r := &Report{
		Version: ForecastVersion, AsOf: day.String(), Fill: last.Number, Since: last.Points[0].Date.String(), Used: last.Used,
		Life: band(f.Life), PlanLife: b.life().Residue, Left: band(f.Left),
		Day:   Days{later(day, f.Days.P10), later(day, f.Days.P50), later(day, f.Days.P90)},
		Ended: f.Ended, Usable: band(f.Usable), Load: band(f.Load), PenAtEnd: band(f.Pen), PenOffset: band(f.Offset), Limit: float64(b.ends().Residue), Worth: f.Worth,
		Asks: []string{}, Stops: []string{}, Assumptions: []string{}, Readings: []ReadingPoint{},
	}
	for _, c := range b.Stops() {
		r.Stops = append(r.Stops, cautionText(&c))
	}
	if rinse > 0 {
		r.Rinses = rules.Band{P10: f.Left.P10 / rinse, P50: f.Left.P50 / rinse, P90: f.Left.P90 / rinse}
	}
	if guessed != "" {
		r.Assumptions = append(r.Assumptions, guessed)
	}
	if b.FeedPPM == 0 {
		r.Assumptions = append(r.Assumptions, "the first readings of the feed stand for the plan's water, because nobody said what the pen shows of it")
	}
	r.advise(&f, b.bigJob())
	r.contradict(m, &f, b.setting(runs))
	if f.Drifted() {
		r.Asks = append(r.Asks, fmt.Sprintf("a new water test: the feed now carries %.2f times the load that it had (%.2f to %.2f), and the plan rests on the old one", f.Load.P50, f.Load.P10, f.Load.P90))
	}
	for _, p := range m.Curve(unit.Litres(1.3*max(f.Life.P90, last.Used)), 60) {
		r.Curve = append(r.Curve, CurvePoint{p.Used, band(p.Product), band(p.Residue)})
	}
	for _, p := range last.Points[1:] {
		if p.Product == nil && p.Silica == nil {
			continue
		}
		at := ReadingPoint{Date: p.Date.String(), Used: float64(p.Used), Product: p.Product}
		if p.Silica != nil && !p.Silica.Below {
			at.Silica = &p.Silica.Value
		}
		r.Readings = append(r.Readings, at)
	}
	return r, nil
}

func band(b calibrate.Band) rules.Band { return rules.Band{P10: b.P10, P50: b.P50, P90: b.P90} }

func later(from Date, days float64) string {
	if math.IsInf(days, 1) {
		return ""
	}
	return from.AddDays(int(math.Round(days))).String()
}

// life is what the plan says of the water that feeds the vessel.
func (b *Basis) life() *rules.LifeNote {
	if b.Untreated {
		return &b.Plan.Life.Untreated
	}
	return &b.Plan.Life.WithPlan
}

func (b *Basis) load() *rules.LoadNote {
	if b.Untreated {
		return &b.Plan.Load.Untreated
	}
	return &b.Plan.Load.WithPlan
}

func (b *Basis) ends() bed.Ends {
	if b.Rig != nil {
		return b.Rig.Ends
	}
	return bed.DefaultEnds()
}

// prior turns the plan into what is expected before a reading.
func (b *Basis) prior() (calibrate.Prior, error) {
	life, load, ends, vessel := b.life(), b.load(), b.ends(), &b.Plan.Vessel
	x := calibrate.Expectation{
		Life: bed.Life{
			Residue: unit.Litres(life.Residue.P50), Silica: unit.Litres(life.Silica.P50),
			Anion: unit.Litres(life.Anion.P50), Cation: unit.Litres(life.Cation.P50),
			Kinetic: bed.Halves{Cation: vessel.KineticCation.P50, Anion: vessel.KineticAnion.P50},
		},
		Load:    water.Load{Cation: unit.MeqPerL(load.Cation.P50), Anion: unit.MeqPerL(load.Anion.P50)},
		Carbon:  unit.MmolPerL(load.Bicarbonate.P50 + load.CO2.P50), // one equivalent a mole
		Silica:  unit.MmolPerL(load.Silica.P50),
		Residue: ends.Residue, MeterFactor: ends.MeterFactor, Feed: b.FeedPPM,
	}
	shape, err := x.Shape()
	if err != nil {
		return calibrate.Prior{}, b.refuse(err)
	}
	r := life.Residue
	if !(r.P10 > 0 && r.P10 <= r.P50 && r.P50 <= r.P90) {
		return calibrate.Prior{}, b.refuse(errors.New("the life of a fill by residue is no rising band"))
	}
	return calibrate.Prior{Lives: calibrate.FromBand(calibrate.Band{P10: r.P10, P50: r.P50, P90: r.P90}, priorDraws), Shape: shape, Known: b.FeedPPM > 0}, nil
}

func (b *Basis) refuse(err error) error {
	return schemas.Problems{{Field: "/life", Found: "a plan that a log cannot be held against (" + err.Error() + ")", Want: "a plan with a vessel that ends",
		Remedy: "make the plan anew with forebed plan --format json", Err: err}}
}

// fill turns the entries of a fill into observations. What stands on the line
// of a refill was read before it, and belongs to the fill that it ended.
func (f *FillRun) fill() calibrate.Fill {
	last := f.lastRead()
	c := calibrate.Fill{Start: f.Points[0].Date.Days(), Day: last.Date.Days(), Used: unit.Litres(f.Used)}
	for i := range f.Points[1:] {
		p := &f.Points[i+1]
		c.Seen = appendSeen(c.Seen, &p.Entry, float64(p.Used))
	}
	if f.End != nil {
		c.Seen = appendSeen(c.Seen, &f.End.Entry, f.Used)
		c.Day = f.End.Date.Days()
		c.End = map[Reason]calibrate.Ending{Spots: calibrate.BySpots, Meter: calibrate.ByPen, Silica: calibrate.BySilica, Schedule: calibrate.BySchedule}[f.End.Reason]
	}
	return c
}

// lastRead is the last point of a fill at which the water meter was read; the
// refill that started it is one.
func (f *FillRun) lastRead() *Point {
	last := &f.Points[0]
	for i := range f.Points {
		if f.Points[i].Meter != nil {
			last = &f.Points[i]
		}
	}
	return last
}

func appendSeen(seen []calibrate.Observation, e *Entry, used float64) []calibrate.Observation {
	if e.Feed == nil && e.Product == nil && e.Silica == nil {
		return seen
	}
	or := func(x *float64) float64 {
		if x == nil {
			return math.NaN()
		}
		return *x
	}
	o := calibrate.Observation{Day: e.Date.Days(), Used: unit.Litres(used), Feed: or(e.Feed), Product: or(e.Product), Silica: math.NaN()}
	if e.Silica != nil {
		o.Silica, o.Below = e.Silica.Value, e.Silica.Below
	}
	return append(seen, o)
}

// stretches are the volumes between readings of the meter, for the habit.
func stretches(points []Point) []calibrate.Stretch {
	var all []calibrate.Stretch
	var from *Point
	for i := range points {
		p := &points[i]
		if p.Meter == nil {
			continue
		}
		if from != nil {
			all = append(all, calibrate.Stretch{From: from.Date.Days(), To: p.Date.Days(), Used: p.Total - from.Total})
		}
		from = p
	}
	return all
}

// habit is the use that the rig document or the plan expects, and what about
// it is a guess.
func (b *Basis) habit() (h calibrate.Habit, guessed string) {
	const perDay = 365.25
	if b.Rig == nil {
		for m := range h {
			h[m] = b.Plan.Demand.YearL / perDay
		}
		return h, "without a rig document the use of months that the log does not cover is the plan's, spread over the year"
	}
	u := &b.Rig.Use
	inSeason := u.RinsesPerWeek * float64(u.Rinse) / 7
	for m := range h {
		into := math.Mod(float64(m-u.FirstMonth+1)+12, 12) // months after the season began
		h[m] = inSeason * min(1, max(0, u.MonthsPerYear-into))
	}
	return h, ""
}

func (b *Basis) bigJob() float64 {
	switch {
	case b.BigJob > 0:
		return b.BigJob
	case b.Rig != nil:
		return b.Rig.Use.BusiestDay * float64(b.Rig.Use.Rinse)
	}
	return 2 * b.Plan.Demand.RinseL
}

// Stops are the cautions that stand above everything.
func (b *Basis) Stops() (stops []rules.Caution) {
	for _, c := range b.Plan.Cautions {
		if c.Level == string(rules.StrengthStop) {
			stops = append(stops, c)
		}
	}
	return stops
}

// cautionText is a caution with what to do about it.
func cautionText(c *rules.Caution) string { return strings.TrimSpace(c.Text + " " + c.Remedy) }

// setting is what the causes of a contradiction depend on.
func (b *Basis) setting(runs []FillRun) calibrate.Setting {
	has := func(k process.Kind) bool {
		return !b.Untreated && slices.ContainsFunc(b.Plan.Stages, func(s rules.StagePlan) bool { return s.Kind == k })
	}
	r := calibrate.Setting{
		Softener: has(process.Softener), Membrane: has(process.ReverseOsmosis),
		Chlorine: has(process.OxidantFeed) || has(process.Carbon) || has(process.CatalyticCarbon) || has(process.Disinfection) || b.Rig != nil && b.Rig.Site.Chlorinated,
		Iron:     has(process.OxidizingMediaFilter) || has(process.Aeration),
		Fills:    len(runs) - 1,
	}
	if r.Fills >= 2 {
		r.Shrinking = runs[r.Fills-1].Used < 0.85*runs[0].Used && runs[r.Fills-1].End.Reason != Schedule
	}
	return r
}

// advise says what to do, and why.
func (r *Report) advise(f *calibrate.Forecast, bigJob float64) {
	a := f.Advise(bigJob)
	r.Advice = string(a)
	job := f.Within(bigJob)
	r.Why = map[calibrate.Advice]string{
		calibrate.Fine:         fmt.Sprintf("the next big job ends before the bed does in %.0f %% of the draws", 100*(1-job)),
		calibrate.TestSilica:   fmt.Sprintf("the bed may end within the next big job (%.0f %% of the draws), and silica shows in a drop test before any pen moves: 1 mg/L or more means refill", 100*job),
		calibrate.BeforeBigJob: fmt.Sprintf("the bed ends within the next big job in %.0f %% of the draws", 100*job),
		calibrate.RefillNow:    fmt.Sprintf("the end has passed in %.0f %% of the draws", 100*f.Ended),
	}[a]
}

func (r *Report) contradict(m *calibrate.Model, f *calibrate.Forecast, rig calibrate.Setting) {
	c := m.Contradicts(f, rig)
	if c == nil {
		return
	}
	end, of := "later", "P95"
	limit := c.P95
	if c.Sooner {
		end, of, limit = "sooner", "P5", c.P5
	}
	r.Contradiction = &Contradiction{Sooner: c.Sooner, Text: fmt.Sprintf("by the log a fill lasts %.0f L: %s than the plan allows for (%s %.0f L)", c.Life, end, of, limit)}
	for _, k := range c.Causes {
		r.Contradiction.Causes = append(r.Contradiction.Causes, Cause{k.ID, k.Text, k.Test})
	}
	r.Asks = append(r.Asks, "a new water test with pH, alkalinity and silica: the log contradicts the plan")
}
