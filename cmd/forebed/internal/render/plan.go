package render

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/bed"
	"forebed/chem/water"
	"forebed/cmd/forebed/internal/engine"
	"forebed/rules"
)

// Plan composes a plan for a person with a hose: a screen of summary first,
// detail after, stop cautions above everything.
func Plan(r Report, u Units) []Block {
	r.Plan = Shown(r.Plan, r.Acknowledged)
	t := planDraft{Report: r, u: u}
	t.header()
	t.stops()
	t.summary()
	t.drawing()
	t.heading("What is in the water")
	composition(&t.draft, r.Water)
	t.doubts()
	t.untreated()
	t.stages()
	t.accepts()
	t.comparison()
	t.leftOut()
	t.alternatives()
	t.cautions()
	t.asks()
	t.assumptions()
	t.colophon()
	return t.blocks
}

// Report is what a rendering needs: the plan and what it was made from.
type Report struct {
	Plan          *rules.Plan
	Water         *water.Composition
	Doubts        []analysis.Warning // about the report as read
	Settled       []string           // doubts that do not change the plan
	Acknowledged  bool               // the user has read the stop cautions; sizes may be printed
	ToAcknowledge string             // how to say that they were read, one sentence
	Runs          []*engine.Run      // of a fill without and with the stages, for the pictures; may be empty or hold nil
}

type planDraft struct {
	draft
	Report
	u Units
}

func (t *planDraft) header() {
	name := t.Plan.Sample
	if name == "" {
		name = "your water"
	}
	t.title("Pretreatment plan for a mixed-bed DI vessel: " + name)
	t.lead("For rinse water only. This is no drinking-water or health advice. Plumbing, backflow protection, discharge and electrical work follow your local codes and licensed practice.")
}

// stops prints the cautions that come before everything else.
func (t *planDraft) stops() {
	if !HasStop(t.Plan) {
		return
	}
	t.heading("Stop: settle this first")
	for _, c := range t.Plan.Cautions {
		if c.Level == "stop" {
			t.caution(c)
		}
	}
	if !t.Acknowledged {
		t.para("What to buy is left out below until you have read this. " + t.ToAcknowledge)
	}
}

// HasStop tells whether a plan carries a stop caution.
func HasStop(p *rules.Plan) bool {
	for _, c := range p.Cautions {
		if c.Level == "stop" {
			return true
		}
	}
	return false
}

// caution prints one caution with its topic and source.
func (d *draft) caution(c rules.Caution) {
	text := c.Text
	if c.Remedy != "" {
		text += " " + c.Remedy
	}
	d.toned(Tone(c.Level), text)
	d.sub("[" + plain(c.Topic) + "; " + c.Source + "]")
}

// volumes prints a band of volume as "430 gal (360 to 500)".
func (t *planDraft) volumes(b rules.Band) string {
	return fmt.Sprintf("%s (%s)", t.u.Volume(b.P50), t.u.VolumeRange(b.P10, b.P90))
}

// figures prints a band of a number with n significant figures.
func figures(b rules.Band, n int) string {
	mid, low, high := Figures(b.P50, n), Figures(b.P10, n), Figures(b.P90, n)
	if low == high {
		return mid
	}
	return fmt.Sprintf("%s (%s to %s)", mid, low, high)
}

func ratios(b rules.Band) string {
	low, high := Ratio(b.P10), Ratio(b.P90)
	if low == high {
		return Ratio(b.P50)
	}
	return fmt.Sprintf("%s (%s to %s)", Ratio(b.P50), low, high)
}

func (t *planDraft) money(b rules.Band) string {
	c := t.Plan.Cost.Currency
	mid, low, high := Money(c, b.P50), Money(c, b.P10), Money(c, b.P90)
	if low == high {
		return mid
	}
	return fmt.Sprintf("%s (%s to %s)", mid, low, high)
}

// summary is the first screen.
func (t *planDraft) summary() {
	p := t.Plan
	t.heading("In short")
	if s := t.noFlow(); s != "" {
		t.fact("No water", s)
	}
	t.fact("Your water", summary(t.Water))
	t.fact("Your use", p.Demand.Text)
	t.fact("Your vessel", p.Vessel.Text)
	t.fact("No stages", t.lifeSentence(p.Life.Untreated))
	if p.Status == rules.StatusNone {
		t.fact("The plan", "No train of stages keeps every must limit on this water. What blocks each, and what would unblock it, stands below.")
	} else {
		t.fact("The plan", t.train())
		t.fact("With the plan", t.lifeSentence(p.Life.WithPlan)+" Life ratio "+ratios(p.Life.Ratio)+".")
	}
	if len(p.Accepts) > 0 {
		var all []string
		for _, a := range p.Accepts {
			all = append(all, lowerFirst(a.Title))
		}
		t.fact("Not kept", Count(len(all), "recommended limit")+": "+strings.Join(all, "; ")+" (below).")
	}
	t.fact("Money", t.moneySentence())
	if s := t.cheaperWays(); s != "" {
		t.fact("Also", s)
	}
	if len(p.Asks) > 0 {
		var names []string
		for _, a := range p.Asks {
			if name := asked(a.Analyte); !slices.Contains(names, name) {
				names = append(names, name)
			}
		}
		t.fact("Test next", strings.Join(names, ", ")+" (why: below).")
	}
	if p.Status == rules.StatusConditional {
		for _, c := range p.Conditions {
			t.fact("Conditional", fmt.Sprintf("%s This is so in %s of the waters that fit your report; %s would settle it.", sentence(c.Sentence), Percent(c.Share), c.Settles))
		}
	}
}

// noFlow says that a rig cannot deliver its peak flow, and what it can.
func (t *planDraft) noFlow() string {
	v := t.Plan.Vessel
	if v.PressureLeft > 0 {
		return ""
	}
	return fmt.Sprintf("This rig cannot deliver %s: the vessel and what stands before it take more pressure than the supply has. It would work at about %s. State that as the peak flow, choose a wider vessel, or have a booster pump fitted.",
		t.u.Flow(t.Plan.Demand.PeakLpm), t.u.Flow(v.DeliversLpm))
}

// train names the stages in flow order.
func (t *planDraft) train() string {
	if len(t.Plan.Stages) == 0 {
		return "no stage is worth its place on this water: your water -> mixed bed."
	}
	names := []string{"your water"}
	for _, s := range t.Plan.Stages {
		names = append(names, s.Title)
	}
	return strings.Join(append(names, "mixed bed"), " -> ")
}

func (t *planDraft) lifeSentence(l rules.LifeNote) string {
	if endless(l.Residue.P50) {
		return fmt.Sprintf("The water that reaches the vessel already dries under the limit, so spots do not end a fill; it is trusted for %d years.", rules.FillYears)
	}
	use, of := l.MonthsPerFill, "months"
	if use.P50 < 1 {
		const days = 365.25 / 12
		use, of = rules.Band{P10: days * use.P10, P50: days * use.P50, P90: days * use.P90}, "days"
	}
	s := fmt.Sprintf("A fill lasts %s: %s rinses, %s %s of use. The %s half ends first.",
		t.volumes(l.Residue), covers(l.RinsesPerFill, l.Residue), covers(use, l.Residue), of, l.FirstHalf)
	if l.FillsPerYear.P50 < 1.0/rules.FillYears {
		s += fmt.Sprintf(" No fill is trusted for more than %d years, whatever it holds.", rules.FillYears)
	}
	return s
}

// covers prints what a fill covers, such as rinses, where some of the lives may
// have no end.
func covers(b, life rules.Band) string {
	if !endless(life.P90) {
		return figures(b, 2)
	}
	low := "no end"
	if !endless(life.P10) {
		low = Figures(b.P10, 2)
	}
	return fmt.Sprintf("%s (%s to no end)", Figures(b.P50, 2), low)
}

// cheaperWays names the ways without stages or resin of one's own that cost
// clearly less than the plan: in most of the draws.
func (t *planDraft) cheaperWays() string {
	var all []string
	for _, a := range t.Plan.Alternatives {
		name := map[string]string{"exchange_service": "the same stages with an exchange service for the vessel", "buy_water": "bought DI water",
			"reverse_osmosis_without_vessel": "reverse osmosis with no vessel behind it"}[a.Name]
		if name != "" && !a.Chosen && a.Status != rules.StatusNone && a.CheaperShare >= 0.8 {
			all = append(all, fmt.Sprintf("%s (%s over %d years)", name, t.money(a.Horizon), t.Plan.Cost.HorizonYears))
		}
	}
	if len(all) == 0 {
		return ""
	}
	return "Where you can have it, this costs less: " + strings.Join(all, "; ") + "."
}

func (t *planDraft) moneySentence() string {
	c := t.Plan.Cost
	s := fmt.Sprintf("%s a year with the plan, %s without any stage; over %d years %s against %s. Prices are defaults unless you gave yours.",
		t.money(c.WithPlan.PerYear), t.money(c.Untreated.PerYear), c.HorizonYears, t.money(c.WithPlan.Horizon), t.money(c.Untreated.Horizon))
	if len(t.Plan.Stages) == 0 {
		s = fmt.Sprintf("%s a year, %s over %d years. Prices are defaults unless you gave yours.", t.money(c.Untreated.PerYear), t.money(c.Untreated.Horizon), c.HorizonYears)
	}
	return s
}

// doubts lists what the reader was not sure of, and which of it does not
// matter here.
func (t *planDraft) doubts() {
	if len(t.Doubts) == 0 {
		return
	}
	t.para("Doubts about the report:")
	for _, w := range t.Doubts {
		where := ""
		if w.Line > 0 {
			where = fmt.Sprintf("line %d: ", w.Line)
		}
		t.item(where + sentence(w.Message) + " [" + w.Code + "]")
	}
	for _, s := range t.Settled {
		t.item(s)
	}
}

func (t *planDraft) untreated() {
	p := t.Plan
	t.heading("What happens to the resin without pretreatment")
	l := p.Life.Untreated
	t.para(l.PenSays)
	t.band(l)
	t.fill(0, l)
	t.lifeTable(0, l)
	t.para(fmt.Sprintf("Load on the cation half %s meq/L; on the anion half %s meq/L, of which a TDS pen does not see carbon dioxide (%s) and silica (%s).",
		figures(p.Load.Untreated.Cation, 3), figures(p.Load.Untreated.Anion, 3), figures(p.Load.Untreated.CO2, 2), figures(p.Load.Untreated.Silica, 2)))
	t.para(l.Text)
	t.para(fmt.Sprintf("Usable share of the capacity: cation half %s, anion half %s (film kinetics, conversion as filled, distribution of flow). In the trade's terms a fill takes out %s kilograins of total cations per ft3; ratings say 7 to 14.",
		figures(p.Vessel.UsableCation, 2), figures(p.Vessel.UsableAnion, 2), figures(p.Vessel.KgrPerFt3, 2)))
	for _, n := range p.Vessel.Notes {
		t.item(n)
	}
	if s := t.noFlow(); s != "" {
		t.toned(Care, s+" The lives above are for the flow that you asked for.")
	} else {
		t.para(fmt.Sprintf("At %s about %s are left at the nozzle, filters and bed clean.", t.u.Flow(p.Demand.PeakLpm), t.u.Pressure(p.Vessel.PressureLeft)))
	}
}

// band says where a band of silica ends a fill and then passes, and what may
// be had by waiting for that.
func (t *planDraft) band(l rules.LifeNote) {
	if l.Back == nil || l.Final == nil {
		return
	}
	t.para(fmt.Sprintf("The band of silica begins at %s and has passed at %s: about %s to run to waste. Behind it the water dries under the limit again, to %s. Lives and money in this plan end a fill where the band begins; only a silica test shows when it has passed.",
		t.volumes(l.Residue), t.volumes(*l.Back), t.u.Volume(l.Back.P50-l.Residue.P50), t.volumes(*l.Final)))
}

// lifeTable lists the ends of a fill: those of the closed form over the draws,
// and those that only the cells see, on the central water.
func (t *planDraft) lifeTable(i int, l rules.LifeNote) {
	row := func(name string, b rules.Band) []string {
		return []string{name, t.u.Volume(b.P10), t.u.Volume(b.P50), t.u.Volume(b.P90)}
	}
	var rows [][]string
	for _, e := range l.ResidueAt {
		rows = append(rows, row(fmt.Sprintf("dry residue passes %s mg/L (spots)", Figures(e.Limit, 2)), e.Life))
	}
	rows = append(rows,
		row("silica passes 10 % of the feed", l.Silica),
		row("usable anion capacity used up", l.Anion),
		row("usable cation capacity used up", l.Cation))
	cells := false
	if i < len(t.Runs) && t.Runs[i] != nil {
		for _, e := range t.Runs[i].Through.Ends {
			if e.ID != bed.EndMeter && e.ID != bed.EndHardness && e.ID != bed.EndPH {
				continue
			}
			at := "not reached"
			if e.Reached() {
				at = t.u.Volume(float64(e.Life))
			}
			rows, cells = append(rows, []string{endName(e, t.Runs[i].Ends), "", at, ""}), true
		}
	}
	t.table([]string{"End of a fill", ">P10", ">P50", ">P90"}, rows)
	if cells {
		t.para("Rows with one figure come from following a fill cell by cell on the central water (forebed bed shows the curve).")
	}
}

func (t *planDraft) stages() {
	p := t.Plan
	if p.Status == rules.StatusNone {
		t.blocked()
		return
	}
	if len(p.Stages) == 0 {
		return
	}
	t.heading("The stages, in order of flow")
	for _, s := range p.Stages {
		t.stage(s)
	}
	t.para("Last: the mixed bed. It cannot be cleaned on site, so everything that protects it stands before it.")
}

// accepts lists the recommended limits that the plan does not keep.
func (t *planDraft) accepts() {
	if len(t.Plan.Accepts) == 0 {
		return
	}
	t.heading("Recommended limits that it does not keep")
	t.para("To keep these costs more than the resin at risk, or no stage can. They say where trouble will come from; weigh them yourself.")
	for _, a := range t.Plan.Accepts {
		t.toned(Care, a.Title+": "+sentence(a.Working)+" "+sentence(a.Because)+" What would keep it: "+sentence(lowerFirst(a.Remedy)))
		t.sub("[" + a.Rule + "; " + a.Source + "]")
	}
}

// lowerFirst lets a sentence go on behind a colon. Names of capitals stay.
func lowerFirst(s string) string {
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}

func (t *planDraft) stage(s rules.StagePlan) {
	head := fmt.Sprintf("%d. %s", s.Place, s.Title)
	if s.Installed {
		head += " (already there)"
	}
	t.entry(head)
	t.detail("size", sizeText(s.Size, t.u))
	for _, r := range s.Why {
		if r.Rule == "life" {
			continue // "worth", below, says it
		}
		label := "why"
		if r.Level == string(rules.LevelAdvice) {
			label = "advice" // what to know of the stage is no reason for it
		}
		t.detail(label, sentence(r.Sentence))
		if r.Working != "" {
			t.detail("", "working: "+r.Working)
		}
		t.detail("", "rule "+r.Rule+"; source: "+r.Source)
	}
	switch s.Role {
	case rules.RoleExtends:
		lasts := "lasts"
		if endless(s.LifeWith.P50) {
			lasts = "has"
		}
		t.detail("worth", fmt.Sprintf("a fill %s %s with it, %s without it: %s times", lasts, t.volumes(s.LifeWith), t.u.Volume(s.LifeWithout.P50), ratios(s.LifeRatio)))
	case rules.RoleShortens:
		t.detail("worth", fmt.Sprintf("it costs life (%s times), and is here because a later stage or the plumbing needs it", ratios(s.LifeRatio)))
	default:
		t.detail("worth", fmt.Sprintf("it protects, for the reasons above; it does not stretch the life of a fill (%s times)", ratios(s.LifeRatio)))
	}
	money := fmt.Sprintf("%s to buy, %s a year to run", t.money(s.FirstCost), t.money(s.CostPerYear))
	switch {
	case s.BreakEven == nil:
	case *s.BreakEven == 0:
		money += fmt.Sprintf("; saves %s a year, and without it other stages would have to be larger: it costs nothing more at the start", t.money(s.SavingPerYear))
	default:
		money += fmt.Sprintf("; saves %s a year, pays for itself in %s", t.money(s.SavingPerYear), span(*s.BreakEven))
	}
	t.detail("cost", money)
	for _, k := range s.Upkeep {
		text := k.Task + " every " + months(k.EveryMonths)
		if k.Trigger != "" {
			text += ", or sooner: " + k.Trigger
		}
		t.detail("upkeep", text)
	}
	for _, n := range s.Notes {
		text := n.Text
		if n.Share < 0.995 {
			text += fmt.Sprintf(" (in %s of the waters that fit your report)", Percent(n.Share))
		}
		t.detail("note", text)
	}
}

func sizeText(s rules.StageSize, u Units) string {
	text := s.Text
	if s.DropKPa > 0 {
		text += "; pressure drop " + u.Pressure(s.DropKPa) + " clean"
	}
	if s.BackwashLpm > 0 {
		text += "; backwash needs " + u.Flow(s.BackwashLpm)
	}
	return text
}

func (t *planDraft) blocked() {
	t.heading("Why no train is admissible")
	for _, b := range t.Plan.Blocked {
		var names []string
		for _, m := range b.Stages {
			names = append(names, m.Title)
		}
		near := "no stages"
		if len(names) > 0 {
			near = strings.Join(names, " -> ")
		}
		text := near + ": " + sentence(lowerFirst(b.Sentence))
		if b.Working != "" {
			text += fmt.Sprintf(" Here, at the %s: %s", plain(b.At), sentence(b.Working))
		}
		if b.Share < 0.995 {
			text += fmt.Sprintf(" This is so in %s of the waters that fit your report.", Percent(b.Share))
		}
		t.item(text)
		t.sub("What would unblock it: " + b.Unblock)
		t.sub("[" + b.Rule + "; " + b.Source + "]")
	}
}

func (t *planDraft) comparison() {
	p := t.Plan
	if len(p.Stages) == 0 {
		return
	}
	t.heading("Life and cost, without and with the plan")
	a, b := p.Life.Untreated, p.Life.WithPlan
	ca, cb := p.Cost.Untreated, p.Cost.WithPlan
	rows := [][]string{
		{"a fill lasts", t.volumes(a.Residue), t.volumes(b.Residue)},
		{"fills a year", figures(a.FillsPerYear, 2), figures(b.FillsPerYear, 2)},
		{"to buy", t.money(ca.First), t.money(cb.First)},
		{"to run, a year", t.money(ca.PerYear), t.money(cb.PerYear)},
		{fmt.Sprintf("all, %d years", p.Cost.HorizonYears), t.money(ca.Horizon), t.money(cb.Horizon)},
		{"a rinse", t.money(ca.PerRinse), t.money(cb.PerRinse)},
		{"your time, a year", figures(ca.UpkeepHours, 2) + " h", figures(cb.UpkeepHours, 2) + " h"},
		{"water to waste, a year", t.volumes(ca.WasteWater), t.volumes(cb.WasteWater)},
	}
	t.table([]string{"", "without", "with"}, rows)
	t.para(fmt.Sprintf("The plan costs less than no pretreatment in %s of the waters and vessels that fit what you told it.", Percent(p.Cost.CheaperShare)))
	t.para("Life of a fill as the stages are added:")
	t.lives()
	t.fill(1, b)
	t.account()
	t.heading("How a fill ends behind the stages")
	t.para(b.PenSays)
	t.band(b)
	t.lifeTable(1, b)
}

func (t *planDraft) leftOut() {
	if len(t.Plan.LeftOut) == 0 {
		return
	}
	t.heading("Looked at and left out")
	for _, l := range t.Plan.LeftOut {
		t.item(l.Title + ": " + l.Why)
	}
}

func (t *planDraft) alternatives() {
	if len(t.Plan.Alternatives) == 0 {
		return
	}
	t.heading("Other ways")
	var rows [][]string
	for _, a := range t.Plan.Alternatives {
		name := plain(a.Name)
		if a.Chosen {
			name += " (this plan)"
		}
		life := "-"
		if a.Life != nil {
			life = t.u.Volume(a.Life.P50)
		}
		c := t.Plan.Cost.Currency
		rows = append(rows, []string{name, life, Money(c, a.First.P50), Money(c, a.PerYear.P50), Money(c, a.Horizon.P50), Figures(a.UpkeepHours.P50, 2), t.u.Volume(a.WasteWater.P50)})
	}
	t.table([]string{"", ">a fill lasts", ">to buy", ">a year", fmt.Sprintf(">%d years", t.Plan.Cost.HorizonYears), ">h a year", ">waste a year"}, rows)
	for _, a := range t.Plan.Alternatives {
		t.item(plain(a.Name) + ": " + a.Text + " " + t.alternativeStages(a))
		for _, b := range a.Blocks {
			t.sub(sentence(b.Sentence) + " " + b.Working + " [" + b.Rule + "]")
		}
	}
}

// alternativeStages names the stages of an alternative, and how often it is
// cheaper than the plan.
func (t *planDraft) alternativeStages(a rules.Alternative) string {
	if a.Chosen {
		return ""
	}
	var names []string
	for _, m := range a.Stages {
		names = append(names, m.Title)
	}
	s := ""
	if len(names) > 0 {
		s = "Stages: " + strings.Join(names, " -> ") + ". "
	}
	if t.Plan.Status == rules.StatusNone {
		return s // there is no plan to hold it against
	}
	return s + fmt.Sprintf("It costs less than the plan in %s of the draws.", Percent(a.CheaperShare))
}

func (t *planDraft) cautions() {
	t.heading("Cautions")
	for _, level := range []string{"care", "note"} {
		for _, c := range t.Plan.Cautions {
			if c.Level == level {
				t.caution(c)
			}
		}
	}
}

func (t *planDraft) asks() {
	if len(t.Plan.Asks) == 0 {
		return
	}
	t.heading("What to test next")
	for asks := t.Plan.Asks; len(asks) > 0; {
		n := 1 // tests with one reason stand together
		names := asked(asks[0].Analyte)
		for ; n < len(asks) && asks[n].Why == asks[0].Why; n++ {
			names += ", " + asked(asks[n].Analyte)
		}
		t.item(names + ": " + asks[0].Why)
		asks = asks[n:]
	}
}

func (t *planDraft) assumptions() {
	t.heading("Assumptions")
	t.para("Replace these with your own in a rig document (forebed rig new).")
	assumptions(&t.draft, t.Plan.Assumptions)
}

// assumptions lists what nobody stated. Those that rest on habit share one
// sentence and a table; the others name their source.
func assumptions(d *draft, all []rules.Assumption) {
	var habits [][]string
	var sourced []rules.Assumption
	for _, a := range all {
		if strings.HasPrefix(a.Basis, "common practice, no source") {
			habits = append(habits, []string{a.Text, a.Value})
		} else {
			sourced = append(sourced, a)
		}
	}
	d.para("Common practice, no source:")
	d.table([]string{"", ""}, habits)
	for _, a := range sourced {
		text := a.Text
		if a.Value != "" {
			text += ": " + a.Value
		}
		d.item(fmt.Sprintf("%s [%s]", text, a.Basis))
	}
}

func (t *planDraft) colophon() {
	p := t.Plan
	t.heading("How this was computed")
	t.para(fmt.Sprintf("%d draws of the water and the vessel (seed %d); %d trains enumerated, %d screened, %d evaluated on all draws, %d of them keep every must limit. P50 is one consistent draw; P10 and P90 stand beside it and need not add up.",
		p.Search.Draws, p.Search.Seed, p.Search.Trains, p.Search.Screened, p.Search.Evaluated, p.Search.Admissible))
	t.para("The run length is computed, not validated by measurement on this water: no measured mixed-bed curve of a natural water was found to check against. Your own log of meter readings and refills is the calibration.")
}

// months says how often, in the unit that a person would use.
func months(n float64) string {
	switch {
	case n == 1:
		return "month"
	case n == 12:
		return "year"
	case n > 12 && math.Mod(n, 12) == 0:
		return Figures(n/12, 2) + " years"
	case n < 1:
		return Figures(n*365.25/12, 2) + " days"
	}
	return Figures(n, 2) + " months"
}

// span prints a time given in years, in the unit that a person would use.
func span(years float64) string {
	if years < 1 {
		return Figures(12*years, 2) + " months"
	}
	return Figures(years, 2) + " years"
}

// asked names what to test in words.
func asked(id string) string {
	if id == "sampling" {
		return "a sample of the untreated water"
	}
	if a, ok := analyte.Lookup(analyte.ID(id)); ok {
		return a.Name
	}
	return plain(id)
}

// plain turns an id into words.
func plain(id string) string { return strings.ReplaceAll(id, "_", " ") }

// sentence ends a text with a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" || strings.HasSuffix(s, ".") || strings.HasSuffix(s, "!") || strings.HasSuffix(s, "?") {
		return s
	}
	return s + "."
}

// Headline says in one line what a plan comes to: stages, life, cost.
func Headline(p *rules.Plan, u Units) string {
	t := planDraft{Report: Report{Plan: p}, u: u}
	if p.Status == rules.StatusNone {
		return "No train of stages keeps every must limit on this water."
	}
	var names []string
	for _, s := range p.Stages {
		names = append(names, plain(string(s.Kind)))
	}
	if len(names) == 0 {
		names = []string{"no stages"}
	}
	return fmt.Sprintf("%s: a fill lasts %s, %s a year.", strings.Join(names, ", "), t.volumes(p.Life.WithPlan.Residue), t.money(p.Cost.WithPlan.PerYear))
}
