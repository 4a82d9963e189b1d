package rules

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/analyte"
	"forebed/chem/bed"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// extends is the ratio of lives from which a stage may be said to extend the
// life of a fill. Below it a stage protects, or does nothing for the bed.
const extends = 1.02

// plan writes the plan of a finished search.
func (s *search) plan() (*Plan, error) {
	none, err := s.ride(nil)
	if err != nil {
		return nil, err
	}
	p := &Plan{Version: PlanVersion, Sample: s.in.Water.Label, Stages: []StagePlan{}, Cautions: []Caution{}, Asks: []Ask{}}
	chosen := s.best(aims[0])
	ahead := chosen // what stands ahead of the vessel, or would if no limit barred it
	switch {
	case chosen == nil:
		p.Status = StatusNone
		if p.Blocked, ahead, err = s.blocked(); err != nil {
			return nil, err
		}
		chosen = none
	case conditional(chosen.found):
		p.Status = StatusConditional
	default:
		p.Status = StatusMeets
	}
	w := &writer{search: s, b: s.full, none: none, chosen: chosen, facts: FactsOf(s.in.Sample, s.full.raw)}
	if p.Status != StatusNone {
		if p.Stages, err = w.stages(); err != nil {
			return nil, err
		}
		p.Conditions = w.pending(chosen)
		p.Accepts = w.accepts()
	}
	if p.LeftOut, err = w.leftOut(); err != nil {
		return nil, err
	}
	parts := []func() error{
		func() (err error) { p.Alternatives, err = w.alternatives(p.Status); return err },
		func() error {
			p.Water = w.water(w.b.raw)
			p.Load = LoadPair{w.load(none), w.load(chosen)}
			p.Feeds = FeedPair{w.b.raw[w.b.central], w.b.feed(chosen.legs, len(chosen.legs))[w.b.central]}
			p.Demand = s.in.Rig.demand()
			p.Vessel = w.vessel(ahead.sizes)
			p.Life = LifePair{w.life(none), w.life(chosen), w.lifeRatio(chosen, none)}
			p.Cost = w.costPair()
			if s.o.Cells {
				return w.runCells(p)
			}
			return nil
		},
	}
	if err := w.parallel(len(parts), func(i int) error { return parts[i]() }); err != nil {
		return nil, err
	}
	w.judgements(p)
	p.Checks = w.checks()
	p.Assumptions = w.assumptions()
	s.tally.Evaluated = len(s.rides)
	for _, r := range s.rides {
		if admissible(r.found) {
			s.tally.Admissible++
		}
	}
	p.Search = s.tally
	return p, nil
}

// best returns the best admissible train of an aim, of those tried on all
// draws; nil if there is none. Costs are compared by their mean over the draws
// (with the allowance), since prices are skewed: half the plans of a range end
// dearer than its typical figure. Lives and hours are compared in the central
// draw, and among those as good the cheapest is taken.
func (s *search) best(a aim) *ridden {
	var all []*score
	for i := range s.trains {
		if r := s.rides[s.trains[i].t.key()]; r != nil && admissible(r.found) {
			all = append(all, &s.trains[i])
		}
	}
	if len(all) == 0 {
		return nil
	}
	if !a.byCost {
		top := slices.MinFunc(all, a.better)
		all = slices.DeleteFunc(all, func(sc *score) bool { return !a.near(sc, top) })
	}
	ride := func(sc *score) *ridden { return s.rides[sc.t.key()] }
	return ride(slices.MinFunc(all, func(x, y *score) int {
		return cmp.Or(cmp.Compare(ride(x).mean, ride(y).mean), cmp.Compare(x.order, y.order))
	}))
}

// writer turns trains into the parts of a plan.
type writer struct {
	*search
	b            *bench
	none, chosen *ridden
	facts        *Facts // of the raw water
}

// water sums up the draws of the water at one place.
func (w *writer) water(at []water.Water) WaterNote {
	over := func(of func(*water.Water) float64) Band { return w.b.over(func(i int) float64 { return of(&at[i]) }) }
	return WaterNote{
		Hardness: over(func(x *water.Water) float64 { return float64(x.Hardness()) }),
		Iron:     over(func(x *water.Water) float64 { return float64(x.Milligrams(water.Iron) + x.Matter.ParticulateIron) }),
		Solids:   over(func(x *water.Water) float64 { return float64(x.DissolvedSolids()) }),
		CO2:      over(func(x *water.Water) float64 { return float64(x.CarbonDioxide()) }),
		PH:       over(func(x *water.Water) float64 { return x.PH }),
	}
}

func (w *writer) load(r *ridden) LoadNote {
	feed := w.b.feed(r.legs, len(r.legs))
	over := func(of func(*water.Water) float64) Band { return w.b.over(func(i int) float64 { return of(&feed[i]) }) }
	return LoadNote{
		Cation:      over(func(x *water.Water) float64 { return float64(x.Load().Cation) }),
		Anion:       over(func(x *water.Water) float64 { return float64(x.Load().Anion) }),
		Bicarbonate: over(func(x *water.Water) float64 { return float64(x.Ion[water.Bicarbonate] + x.Ion[water.Carbonate]) }),
		CO2:         over(func(x *water.Water) float64 { return float64(x.CO2) }),
		Silica:      over(func(x *water.Water) float64 { return float64(x.Silica) }),
		StrongAnion: over(func(x *water.Water) float64 {
			return float64(x.Ion[water.Chloride] + 2*x.Ion[water.Sulfate] + x.Ion[water.Nitrate] + x.Ion[water.Fluoride])
		}),
		Hardness: over(func(x *water.Water) float64 { return float64(x.Hardness()) }),
		PH:       over(func(x *water.Water) float64 { return x.PH }),
	}
}

// rinses counts rinses.
func rinses(n float64) string {
	if n == 1 {
		return "1 rinse"
	}
	return fourFigures(n) + " rinses"
}

// fourFigures prints a number with four figures and no exponent.
func fourFigures(x float64) string {
	if x >= 1000 {
		return strconv.FormatFloat(x, 'f', 0, 64)
	}
	return strconv.FormatFloat(x, 'g', 4, 64)
}

// accepts lists the recommended limits at the vessel that the chosen train
// breaks in more than half of the draws: to keep them costs more than the
// resin at risk, or cannot be done.
func (w *writer) accepts() []Accepted {
	r := w.chosen
	var out []Accepted
	for k := range r.found {
		x := &r.found[k]
		if x.must || x.rule == nil || x.place != len(r.t) || x.share <= holdsAbove {
			continue
		}
		out = append(out, Accepted{Rule: x.rule.ID, Title: x.rule.Title, Because: x.rule.Because, Remedy: x.rule.Remedy,
			Working: w.factsAt(r, x.place).judge(x.rule).Working, Source: x.rule.Source})
	}
	return out
}

// threeFigures prints a number with three figures and no exponent, its
// thousands parted by commas from 10,000 on.
func threeFigures(x float64) string {
	if x < 0 {
		return "-" + threeFigures(-x)
	}
	if x < 0.0001 {
		return "0"
	}
	digits := 2 - int(math.Floor(math.Log10(x)))
	p := math.Pow(10, float64(digits))
	x = math.Round(x*p) / p
	text := strconv.FormatFloat(x, 'f', -1, 64)
	for i := len(text) - 3; x >= 10000 && i > 0; i -= 3 {
		text = text[:i] + "," + text[i:]
	}
	return text
}

// demand is the arithmetic of the season.
func (r *Rig) demand() Demand {
	u := &r.Use
	return Demand{
		RinseL: float64(u.Rinse), RinsesPerWeek: u.RinsesPerWeek, WeeksPerYear: u.Weeks(), RinsesPerYear: u.Rinses(), PeakLpm: float64(u.PeakFlow),
		YearL: float64(u.YearVolume()), PlainL: float64(u.PlainVolume()), HorizonL: float64(u.YearVolume()) * u.horizon(),
		Text: fmt.Sprintf("%s weeks x %s x %s gal = %s a %s",
			threeFigures(u.Weeks()), rinses(u.RinsesPerWeek), fourFigures(u.Rinse.Gallons()), gallons(u.YearVolume()), u.season()),
	}
}

// gallons prints a volume in gallons and litres.
func gallons(v unit.Litres) string {
	return fmt.Sprintf("%s gal (%s L)", threeFigures(v.Gallons()), threeFigures(float64(v)))
}

// season names the time of use within a year: of a rig that never rests it is
// the year.
func (u *Use) season() string {
	if u.MonthsPerYear < 12 {
		return "season"
	}
	return "year"
}

// unruled are the notes of package bed on a vessel that no rule gives.
var unruled = map[string]bool{"transfer_units": true, "short_bed": true, "pressure_drop": true}

// vessel describes the vessel behind stages of these sizes.
func (w *writer) vessel(sizes []*fitted) VesselNote {
	v := &w.in.Rig.Vessels[0]
	one := w.b.beds[0][w.b.central]
	lives := w.none.lives
	note := VesselNote{
		Kind: string(v.Kind), ResinL: float64(v.Vessel.Resin),
		UsableCation:  w.b.over(func(i int) float64 { return lives[i].Usable.Cation }),
		UsableAnion:   w.b.over(func(i int) float64 { return lives[i].Usable.Anion }),
		KineticCation: w.b.over(func(i int) float64 { return lives[i].Kinetic.Cation }),
		KineticAnion:  w.b.over(func(i int) float64 { return lives[i].Kinetic.Anion }),
		BedVolumesPH:  one.ServiceFlow(w.b.service(0, &w.b.raw[w.b.central])),
		KgrPerFt3: w.b.over(func(i int) float64 {
			meq := bound(lives[i].Residue) * float64(w.b.raw[i].Load().Cation)
			const grain = 64.79891 // mg
			return meq * analyte.CaCO3Equivalent / grain / 1000 / v.Vessel.Resin.CubicFeet()
		}),
	}
	for _, n := range bed.ServiceNotes(&one, w.b.service(0, &w.b.raw[w.b.central])) {
		if unruled[n.ID] {
			note.Notes = append(note.Notes, n.Text)
		}
	}
	note.PressureLeft, note.DeliversLpm = float64(w.b.nozzle(sizes, 1)), float64(w.b.delivers(sizes))
	note.Text = fmt.Sprintf("%s of %.3g ft3 (%.3g L) of %s mixed-bed resin, %.0f:%.0f cation to anion, bed %.3g x %.3g in",
		v.Kind, v.Vessel.Resin.CubicFeet(), float64(v.Vessel.Resin), v.Condition.Name, 100*v.Vessel.CationShare, 100*(1-v.Vessel.CationShare),
		v.Vessel.Diameter.Inches(), v.Vessel.Depth.Inches())
	if n := len(w.in.Rig.Vessels); n > 1 {
		how := map[bool]string{true: "swapped in turn", false: "refilled together"}[w.in.Rig.LeadLag()]
		note.Text = fmt.Sprintf("%d vessels in %s, %s; the first: %s", n, w.in.Rig.Line, how, note.Text)
	}
	return note
}

// residueLimits are the limits of dry residue at which every plan shows the
// life, in mg/L.
var residueLimits = [...]float64{5, 10, 50}

func (w *writer) life(r *ridden) LifeNote {
	b, u := w.b, &w.in.Rig.Use
	lives := r.lives
	n := LifeNote{
		Residue: b.over(func(i int) float64 { return bound(lives[i].Residue) }),
		Silica:  b.over(func(i int) float64 { return bound(lives[i].Silica) }),
		Anion:   b.over(func(i int) float64 { return bound(lives[i].Anion) }),
		Cation:  b.over(func(i int) float64 { return bound(lives[i].Cation) }),
	}
	feed := b.feed(r.legs, len(r.legs))
	for _, limit := range residueLimits {
		end := ResidueEnd{limit, n.Residue}
		if unit.MgPerL(limit) != b.rig.Ends.Residue {
			at := *b
			rig := *b.rig
			rig.Ends.Residue = unit.MgPerL(limit)
			at.rig = &rig
			end.Life = b.over(func(i int) float64 { return bound(at.life(i, &feed[i]).Residue) })
		}
		n.ResidueAt = append(n.ResidueAt, end)
	}
	mid := &lives[b.central]
	n.FirstHalf = "anion"
	if mid.First == bed.EndCation {
		n.FirstHalf = "cation"
	}
	n.FirstShare = b.shareOf(func(i int) bool { return lives[i].First == mid.First })
	if w.in.Rig.LeadLag() {
		n.PenSays = "Put the pen between the two vessels and swap the lead when it climbs there: the lag holds what the lead lets through. Carbon dioxide and silica pass the lead before the pen sees anything, and the lag takes them up."
	} else {
		pen := b.over(func(i int) float64 { return w.in.Rig.Ends.MeterFactor * float64(lives[i].Conductivity) })
		n.PenPPM = &pen
		n.PenSays = penSays(mid, w.in.Rig.Ends.MeterFactor)
	}
	if passes(mid) {
		back := b.over(func(i int) float64 { return bound(lives[i].Back) })
		final := b.over(func(i int) float64 { return bound(lives[i].Final) })
		n.Back, n.Final = &back, &final
	}
	n.RinsesPerFill = b.over(func(i int) float64 { return bound(lives[i].Residue) / float64(u.Rinse) })
	n.MonthsPerFill = b.over(func(i int) float64 { return u.months(lives[i].Residue) })
	n.FillsPerYear = w.fillsPerYear(r)
	life := unit.Litres(n.Residue.P50)
	n.Text = fmt.Sprintf("%s a %s / %s a fill = %s fills a %s", gallons(u.YearVolume()), u.season(), gallons(life), threeFigures(n.FillsPerYear.P50), u.season())
	if n.FillsPerYear.P50 < 1.0/FillYears {
		n.Text += fmt.Sprintf("; resin is trusted %d years at most, so one fill every %d years is counted", FillYears, FillYears)
	}
	return n
}

// fillsPerYear is how often a year's water fills the vessel anew.
func (w *writer) fillsPerYear(r *ridden) Band {
	year := float64(w.in.Rig.Use.YearVolume())
	return w.b.over(func(i int) float64 { return min(year/max(bound(r.lives[i].Residue), 1e-9), mostFills) })
}

// runCells runs the cell model on the central draw, without stages and with
// the plan. It speaks of a single vessel; several vessels have the closed form
// only.
func (w *writer) runCells(p *Plan) error {
	if len(w.in.Rig.Vessels) > 1 {
		return nil
	}
	notes := []*LifeNote{&p.Life.Untreated, &p.Life.WithPlan}
	rides := []*ridden{w.none, w.chosen}
	return w.parallel(len(notes), func(k int) error {
		feed := w.b.feed(rides[k].legs, len(rides[k].legs))[w.b.central]
		run, err := bed.Run(&w.b.beds[0][w.b.central], w.b.service(0, &feed), &w.in.Rig.Ends, &feed, bed.Options{})
		if err != nil {
			return err
		}
		for _, e := range run.Ends {
			notes[k].Cells = append(notes[k].Cells, cellEnd(e))
		}
		return nil
	})
}

func cellEnd(e bed.End) CellEnd {
	c := CellEnd{End: string(e.ID), Limit: e.Limit}
	if e.Reached() {
		life, pen := float64(e.Life), e.Meter
		c.Life, c.PenPPM = &life, &pen
	}
	if e.Returns() {
		back := float64(e.Bands[0].To)
		c.Back = &back
		if final := float64(e.Final); final < math.Inf(1) {
			c.Final = &final
		}
	}
	return c
}

// passes reports whether a band of silica ends the life and then passes: the
// product is fit again behind it, for long enough to be worth waiting.
func passes(l *bed.Life) bool { return l.Final > l.Residue*1.05 }

// penSays tells what a meter shows when the water begins to leave spots.
func penSays(l *bed.Life, factor float64) string {
	reading := fmt.Sprintf("%.2g ppm", factor*float64(l.Conductivity))
	switch {
	case bound(l.Residue) == bound(unit.Litres(math.Inf(1))):
		return "What reaches the vessel dries under the limit, so no spots mark the end of a fill. The pen climbs once carbonic acid and salts come through, and shows what the vessel still does."
	case l.First == bed.EndCation:
		return "The cation half runs out first: sodium and then hardness come through, the product turns alkaline and the pen climbs steeply; it reads about " + reading + " when spots begin. Here the pen shows the end."
	case passes(l):
		return "The anion half lets a band of silica go first: spots begin while the pen reads about " + reading + ". A silica drop test shows the band; run it to waste and the bed serves on. A pen alone shows neither its beginning nor its end."
	case l.Residue < l.Carbonic || l.Residue < l.Anion:
		return "The anion half runs out first and lets silica go before anything that a pen can see: the water dries to spots while the pen reads about " + reading + ". Count volume, or use a silica drop test; do not wait for the pen."
	}
	return "The anion half runs out first: carbonic acid comes through and the pen climbs, yet that water dries clean. Spots come later, when the pen reads about " + reading + "."
}

func (w *writer) lifeRatio(with, without *ridden) Band {
	return w.b.over(func(i int) float64 { return ratio(bound(with.lives[i].Residue), bound(without.lives[i].Residue)) })
}

func (w *writer) money(r *ridden, of func(bill) Cents) Band {
	return w.b.over(func(i int) float64 { return of(r.bills[i]).Money() })
}

func (w *writer) costNote(r *ridden) CostNote {
	b, u := w.b, &w.in.Rig.Use
	years := float64(u.HorizonYears)
	rinses := u.Rinses() * u.horizon()
	n := CostNote{
		First:       w.money(r, func(x bill) Cents { return x.first }),
		Horizon:     w.money(r, bill.total),
		PerYear:     b.over(func(i int) float64 { return r.bills[i].running.Money() / years }),
		PerRinse:    b.over(func(i int) float64 { return r.bills[i].total().Money() / rinses }),
		UpkeepHours: b.over(func(i int) float64 { return r.hours[i] }),
		WasteWater:  b.over(func(i int) float64 { return r.waste[i] }),
		ResinUsed:   b.over(func(i int) float64 { return w.in.Rig.resin(r.bills[i].fills, false) / years }),
		ResinDumped: b.over(func(i int) float64 { return w.in.Rig.resin(r.bills[i].fills, true) / years }),
	}
	return n
}

// costParts returns the lines of an account, each a band.
func (w *writer) costParts(r *ridden) []CostPart {
	b := w.b
	var parts []CostPart
	lines := r.account.lines
	amounts := make([][]float64, len(lines))
	for k := range amounts {
		amounts[k] = make([]float64, len(b.raw))
	}
	for i := range b.raw {
		r.account.bill(b, i, r.lives[i].Residue, func(k int, c Cents) { amounts[k][i] = c.Money() })
	}
	for k := range lines {
		band := b.over(func(i int) float64 { return amounts[k][i] })
		if band == (Band{}) {
			continue
		}
		part := CostPart{Item: lines[k].name()}
		if lines[k].first {
			part.First = band
		} else {
			part.Horizon = band
		}
		parts = append(parts, part)
	}
	return parts
}

// resin returns the litres of resin that so many fills take, or of it what is
// thrown away.
func (r *Rig) resin(fills float64, dumped bool) float64 {
	turn := 1.0
	if r.LeadLag() {
		turn = 1 / float64(len(r.Vessels))
	}
	sum := 0.0
	for k := range r.Vessels {
		v := &r.Vessels[k]
		if dumped && v.Kind == KindExchange {
			continue
		}
		sum += float64(v.Vessel.Resin) * turn * fills
	}
	return sum
}

func (w *writer) costPair() CostPair {
	r := &w.in.Rig
	untreated, planned := w.costNote(w.none), w.costNote(w.chosen)
	untreated.Parts, planned.Parts = w.costParts(w.none), w.costParts(w.chosen)
	return CostPair{
		Currency: r.Prices.Currency, PriceYear: r.Prices.Year, HorizonYears: r.Use.HorizonYears,
		Untreated: untreated, WithPlan: planned,
		Saving:       w.b.over(func(i int) float64 { return (w.none.bills[i].total() - w.chosen.bills[i].total()).Money() }),
		CheaperShare: w.b.shareOf(func(i int) bool { return w.chosen.bills[i].total() < w.none.bills[i].total() }),
	}
}

// alternatives lists the optima beside the plan, no pretreatment, and ways
// without a vessel of one's own.
func (w *writer) alternatives(status Status) ([]Alternative, error) {
	var out []Alternative
	if status != StatusNone {
		texts := []string{
			"The least cost over the horizon of the trains that keep every must limit, a recommended limit that is broken counted as risk to the resin.",
			"The least upkeep of the trains that keep every must limit.",
			"The longest life of a fill of the trains that keep every must limit.",
		}
		for i, a := range aims {
			if r := w.best(a); r != nil {
				out = append(out, w.alternative(a.name, texts[i], r))
			}
		}
	}
	none := w.alternative("none", "No pretreatment: the vessel alone.", w.none)
	none.Chosen = none.Chosen && status != StatusNone
	out = append(out, none)
	bare, err := w.membraneAlone()
	if err != nil {
		return nil, err
	}
	if bare != nil {
		out = append(out, *bare)
	}
	out = append(out, w.bought())
	if w.in.Rig.Vessels[0].Kind != KindExchange {
		x, err := w.exchange()
		if err != nil {
			return nil, err
		}
		out = append(out, x)
	}
	return out, nil
}

func (w *writer) alternative(name, text string, r *ridden) Alternative {
	c := w.costNote(r)
	life := w.b.over(func(i int) float64 { return bound(r.lives[i].Residue) })
	rate := w.lifeRatio(r, w.none)
	n := w.life(r)
	a := Alternative{Name: name, Chosen: r == w.chosen, Stages: r.t.mentions(), Text: text, Status: statusOf(r.found), Life: &life, LifeRatio: &rate,
		First: c.First, PerYear: c.PerYear, Horizon: c.Horizon, PerRinse: c.PerRinse, UpkeepHours: c.UpkeepHours, WasteWater: c.WasteWater,
		FillsPerYear: &n.FillsPerYear, Blocks: w.blocks(r)}
	a.CheaperShare = w.b.shareOf(func(i int) bool { return r.bills[i].total() < w.chosen.bills[i].total() })
	return a
}

func statusOf(found []breach) Status {
	switch {
	case !admissible(found):
		return StatusNone
	case conditional(found):
		return StatusConditional
	}
	return StatusMeets
}

// blocks lists the must limits that a train breaks in more than half of the
// draws.
func (w *writer) blocks(r *ridden) []Block {
	var out []Block
	for k := range r.found {
		x := &r.found[k]
		if !x.must || x.share <= holdsAbove {
			continue
		}
		b := Block{Stages: r.t.mentions(), At: r.at(x.place), Sentence: x.sentence(r.t, r.legs), Share: x.share}
		switch {
		case x.rule != nil:
			b.Rule, b.Unblock, b.Source = x.rule.ID, x.rule.Remedy, x.rule.Source
			b.Working = w.factsAt(r, x.place).judge(x.rule).Working
		case x.window >= 0:
			win := r.t[x.place].stage.Facts().Windows[x.window]
			b.Rule, b.Source = "window."+string(r.t[x.place].stage.Kind()), sourceText(win.Source)
			b.Working = w.windowWorking(r, x.place, win)
			b.Unblock = "Bring the water within the range ahead of this stage, or leave the stage out."
		default:
			b.Rule, b.Unblock, b.Source = "site."+string(r.t[x.place].stage.Kind()), x.settle(), sourceText(r.t[x.place].stage.Facts().Source)
		}
		out = append(out, b)
	}
	return out
}

// windowWorking prints a window with the values put in.
func (w *writer) windowWorking(r *ridden, place int, win process.Window) string {
	feed := w.b.feed(r.legs, place)
	x := w.b.over(func(i int) float64 { return win.Quantity.Of(&feed[i]) })
	name, unit := win.Quantity.String(), " "+win.Quantity.Unit()
	if q, ok := byName[name]; ok {
		name = rows[q].title
	}
	if win.Quantity == process.PH {
		unit = "" // the name says it
	}
	return fmt.Sprintf("%s %s%s (%s to %s), made for %s", name, threeFigures(x.P50), unit, threeFigures(x.P10), threeFigures(x.P90), rangeText(win.Low, win.High))
}

func rangeText(low, high float64) string {
	switch {
	case low < -1e300:
		return "at most " + threeFigures(high)
	case high > 1e300:
		return "at least " + threeFigures(low)
	}
	return threeFigures(low) + " to " + threeFigures(high)
}

func sourceText(s process.Source) string {
	text, status := s.Origin, ", "+s.Status.String()
	if strings.HasPrefix(s.Status.String(), s.Origin) { // nothing to say beyond the status
		text, status = s.Status.String(), ""
	}
	if s.Rows != "" {
		text += " (ledger " + s.Rows + ")"
	}
	return text + status
}

// at names a place of a train.
func (r *ridden) at(place int) string {
	if place == len(r.t) {
		return "vessel"
	}
	return string(r.t[place].stage.Kind())
}

// factsAt gathers what rules are judged on at a place of a train, for the
// sentences of the plan.
func (w *writer) factsAt(r *ridden, place int) *Facts {
	f := w.facts.Clone()
	spot := w.b.spotAt(r.t, r.sizes, place)
	f.adopt(&spot.values)
	if place > 0 {
		f.SetDraws(w.b.feed(r.legs, place))
	}
	if place < len(r.t) && r.legs[place].stage.Kind() == process.ReverseOsmosis {
		f.Know(qRecovery, 100/r.legs[place].use[w.b.central].Feed)
	}
	if place == len(r.t) {
		v := NewValues()
		n := len(w.b.raw)
		per := map[Quantity][]float64{}
		for _, q := range []Quantity{qIronPerFill, qManganesePerFill, qSolidsPerFill, qFillVolume, qRinsesPerFill, qFillMonths} {
			per[q] = make([]float64, n)
		}
		for i := range n {
			w.b.fillValues(v, i, r.legs, r.lives)
			for q, xs := range per {
				xs[i] = v.at[q].Low
			}
		}
		for q, xs := range per {
			f.PerDraw(q, xs)
		}
	}
	return f
}

// pending lists the must limits that a train breaks in some draws.
func (w *writer) pending(r *ridden) []Pending {
	var out []Pending
	for k := range r.found {
		x := &r.found[k]
		if !x.must || x.share < conditionalFrom || x.share > holdsAbove {
			continue
		}
		p := Pending{At: r.at(x.place), Sentence: x.sentence(r.t, r.legs), Share: x.drawn, Settles: "a test of the water at this place"}
		if x.rule != nil {
			p.Rule = x.rule.ID
			if f := w.factsAt(r, x.place).judge(x.rule); len(f.Settles) > 0 {
				p.Settles = "a test of " + names(f.Settles)
			}
		} else if x.window >= 0 {
			p.Settles = "a test of " + r.t[x.place].stage.Facts().Windows[x.window].Quantity.String()
		}
		out = append(out, p)
	}
	return out
}

func names(ids []analyte.ID) string {
	var all []string
	for _, id := range ids {
		name := string(id)
		if a, ok := analyte.Lookup(id); ok {
			name = a.Name
		}
		all = append(all, name)
	}
	return strings.Join(all, ", ")
}

// blocked reports, when no train is admissible, what blocks the nearest ones,
// and the nearest of all.
func (s *search) blocked() (out []Block, nearest *ridden, err error) {
	type near struct {
		sc    *score
		broke int
	}
	var all []near
	for i := range s.trains {
		all = append(all, near{&s.trains[i], s.trains[i].broken})
	}
	slices.SortStableFunc(all, func(a, b near) int {
		return cmp.Or(cmp.Compare(a.broke, b.broke), cmp.Compare(a.sc.cost, b.sc.cost), cmp.Compare(a.sc.order, b.sc.order))
	})
	const most = 3
	nearest = s.rides[train(nil).key()]
	for i, n := range all[:min(most, len(all))] {
		r, err := s.ride(n.sc.t)
		if err != nil {
			return nil, nil, err
		}
		if i == 0 {
			nearest = r
		}
		w := &writer{search: s, b: s.full, facts: FactsOf(s.in.Sample, s.full.raw)}
		out = append(out, w.blocks(r)...)
	}
	return out, nearest, nil
}
