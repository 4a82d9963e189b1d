package rules

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"forebed/chem/bed"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// stages writes the stages of the chosen train: what each is worth with the
// others in place (left out alone) and as the train is built up.
func (w *writer) stages() ([]StagePlan, error) {
	t := w.chosen.t
	var trains []train
	for i := range t {
		trains = append(trains, t.without(i), slices.Clone(t[:i+1]))
	}
	if err := w.rideAll(trains); err != nil {
		return nil, err
	}
	out := make([]StagePlan, len(t))
	for i := range t {
		without, running := w.rides[trains[2*i].key()], w.rides[trains[2*i+1].key()]
		out[i] = w.stage(i, without, running)
	}
	return out, nil
}

func (w *writer) stage(i int, without, running *ridden) StagePlan {
	r, b := w.chosen, w.b
	c, z := r.t[i], r.sizes[i]
	life := func(r *ridden) Band { return b.over(func(i int) float64 { return bound(r.lives[i].Residue) }) }
	years := float64(w.in.Rig.Use.HorizonYears)
	s := StagePlan{
		Upkeep: []Task{}, Notes: []NoteText{},
		Mention: mention(c.stage), Place: i + 1, Installed: c.installed,
		Size:     StageSize{z.Text, float64(z.Medium), float64(z.Drop), float64(z.Backwash), z.Units, process.PriceKey(c.stage, z.Size)},
		LifeWith: life(r), LifeWithout: life(without), RunningLife: life(running),
		LifeRatio:     w.lifeRatio(r, without),
		SavingPerYear: b.over(func(i int) float64 { return (without.bills[i].running - r.bills[i].running).Money() / years }),
		WasteWater:    b.over(func(i int) float64 { return r.waste[i] - without.waste[i] }),
		Water:         w.water(r.legs[i].out),
	}
	s.FirstCost, s.CostPerYear = w.stageCost(r, i)
	// Without it other stages may need another size, so it is the first costs of
	// the two trains that are compared.
	if saved := s.SavingPerYear.P50; saved > 0 {
		more := b.over(func(i int) float64 { return (r.bills[i].first - without.bills[i].first).Money() }).P50
		even := max(0, more/saved)
		s.BreakEven = &even
	}
	for _, k := range z.Upkeep {
		s.Upkeep = append(s.Upkeep, Task{Task: k.Task, EveryMonths: k.Every, Trigger: k.Trigger, HoursPerTime: k.Hours, Source: sourceText(k.Source)})
		s.UpkeepHours += times(k.Every) * k.Hours
	}
	s.Notes = append(s.Notes, w.notes(r, i)...)
	s.Why, s.Protects = w.why(i, &s, without)
	switch {
	case s.LifeRatio.P50 >= extends:
		s.Role = RoleExtends
	case s.LifeRatio.P50 <= 1/extends:
		s.Role = RoleShortens
	default:
		s.Role = RoleProtects
	}
	return s
}

// stageCost returns what stage i costs at the start and what its own upkeep
// costs a year.
func (w *writer) stageCost(r *ridden, i int) (first, perYear Band) {
	n := len(w.b.raw)
	once, running := make([]float64, n), make([]float64, n)
	for d := range n {
		r.account.bill(w.b, d, r.lives[d].Residue, func(k int, c Cents) {
			switch l := &r.account.lines[k]; {
			case l.stage != i:
			case l.first:
				once[d] += c.Money()
			default:
				running[d] += c.Money()
			}
		})
	}
	years := float64(w.in.Rig.Use.HorizonYears)
	return w.b.over(func(d int) float64 { return once[d] }), w.b.over(func(d int) float64 { return running[d] / years })
}

// notes lists what was found of a stage on this water.
func (w *writer) notes(r *ridden, i int) []NoteText {
	n := float64(len(w.b.raw))
	sized := r.sizes[i].Notes
	all, draws := sized, map[string]int{}
	for _, in := range w.b.feed(r.legs, i) {
		o, err := r.t[i].stage.Apply(&in)
		if err != nil {
			continue // a draw that the stage cannot carry is among its faults
		}
		all |= o.Notes
		for x := range o.Notes.All() {
			draws[x.ID]++
		}
	}
	var out []NoteText
	for x := range sized.All() {
		draws[x.ID] = len(w.b.raw)
	}
	for x := range all.All() {
		if float64(draws[x.ID]) >= conditionalFrom*n {
			out = append(out, NoteText{ID: x.ID, Text: x.Text, Share: 1})
		}
	}
	for k, win := range r.t[i].stage.Facts().Windows {
		if share := float64(r.legs[i].outside[k]) / n; share >= conditionalFrom {
			out = append(out, NoteText{ID: "outside_" + win.Quantity.String(), Share: share,
				Text: fmt.Sprintf("%s (%s: beyond that it %s)", win.Text, w.windowWorking(r, i, win), win.Effect)})
		}
	}
	return out
}

// why says why stage i stands in the plan: the limits that are broken without
// it and not with it, and what it does to life and cost.
func (w *writer) why(i int, s *StagePlan, without *ridden) (why []Reason, protects string) {
	r := w.chosen
	var from []string
	ruled := map[int]bool{} // places that rules speak of; windows would only repeat them
	for k := range without.found {
		ruled[without.found[k].place] = ruled[without.found[k].place] || without.found[k].rule != nil
	}
	for k := range without.found {
		x := &without.found[k]
		if x.window >= 0 && ruled[x.place] {
			continue
		}
		if x.share < conditionalFrom || r.breaks(x, without) >= x.share-conditionalFrom {
			continue
		}
		reason := Reason{Level: "should", Sentence: x.sentence(without.t, without.legs)}
		if x.must {
			reason.Level = "must"
		}
		switch {
		case x.rule != nil:
			f := w.factsAt(without, x.place).judge(x.rule)
			reason.Rule, reason.Working, reason.Source = x.rule.ID, f.Working, x.rule.Source
			from = append(from, lowerFirst(x.rule.Title))
		case x.window >= 0:
			win := without.t[x.place].stage.Facts().Windows[x.window]
			reason.Rule = "window." + without.at(x.place)
			reason.Working = w.windowWorking(without, x.place, win)
			reason.Source = sourceText(win.Source)
		}
		why = append(why, reason)
	}
	slices.SortStableFunc(why, func(a, b Reason) int { return cmp.Compare(a.Level, b.Level) }) // must before should
	if musts := countLevel(why, "must"); len(why) > musts+mostShoulds {
		why = why[:musts+mostShoulds]
	}
	rate := s.LifeRatio
	working := fmt.Sprintf("%s gal a fill with it, %s gal without: %s (%s to %s)",
		threeFigures(unit.Litres(s.LifeWith.P50).Gallons()), threeFigures(unit.Litres(s.LifeWithout.P50).Gallons()), lifeTimes(rate.P50), threeFigures(rate.P10), threeFigures(rate.P90))
	switch {
	case rate.P50 >= extends:
		why = append(why, Reason{Rule: "life", Level: "gain", Working: working, Source: "closed form of the bed, draw by draw",
			Sentence: "It makes a fill last " + lifeTimes(rate.P50) + " as long."})
	case rate.P50 <= 1/extends:
		why = append(why, Reason{Rule: "life", Level: "price", Working: working, Source: "closed form of the bed, draw by draw",
			Sentence: fmt.Sprintf("It adds to the load: a fill lasts %.3g times as long as without it. That is the price of what it is here for.", rate.P50)})
	default:
		why = append(why, Reason{Rule: "life", Level: "none", Working: working, Source: "closed form of the bed, draw by draw",
			Sentence: fmt.Sprintf("It does not lengthen the life of a fill (%.2f times); it protects.", rate.P50)})
	}
	if saved := w.b.over(func(d int) float64 { return (without.bills[d].total() - r.bills[d].total()).Money() }); saved.P50 > 0 {
		why = append(why, Reason{Rule: "cost", Level: "gain", Source: "account of the plan, draw by draw",
			Sentence: fmt.Sprintf("Over %d years it saves more than it costs.", w.in.Rig.Use.HorizonYears),
			Working:  fmt.Sprintf("%s saved (%.0f to %.0f)", amount(w.in.Rig.Prices.Currency, saved.P50), saved.P10, saved.P90)})
	}
	if s.Installed {
		why = append(why, Reason{Rule: "installed", Level: "kept", Sentence: "It is installed already: its price is not counted, its upkeep is.", Source: "rig document"})
	}
	for _, p := range r.t[i].stage.Facts().Protects {
		if p.Kind == "" || slices.Contains(r.t[i+1:].kinds(), p.Kind) {
			if len(from) == 0 {
				from = append(from, p.From)
			}
		}
	}
	return why, strings.Join(from, "; ")
}

// mostShoulds bounds the recommended limits that a stage names as its reasons;
// all the must limits are named.
const mostShoulds = 2

func countLevel(why []Reason, level string) int {
	n := 0
	for i := range why {
		if why[i].Level == level {
			n++
		}
	}
	return n
}

// lack says what a stage of the train needs and the site does not have.
func (r *ridden) lack(i int) string {
	for k := range r.found {
		if x := &r.found[k]; x.place == i && x.needs != 0 {
			return x.lack()
		}
	}
	return ""
}

// breaks returns the share of the draws in which a train breaks the limit that
// another train's breach names, at the same place.
func (r *ridden) breaks(x *breach, of *ridden) float64 {
	at := of.at(x.place)
	for k := range r.found {
		y := &r.found[k]
		if y.rule == x.rule && y.window == x.window && y.needs == x.needs && r.at(y.place) == at {
			return y.share
		}
	}
	return 0
}

func lowerFirst(s string) string {
	if len(s) > 1 && s[1] >= 'a' && s[1] <= 'z' {
		return strings.ToLower(s[:1]) + s[1:]
	}
	return s
}

// leftOut says why each kind that is not in the plan is not, with the numbers
// of the best way of adding it.
func (w *writer) leftOut() ([]LeftOut, error) {
	var out []LeftOut
	for _, k := range kinds {
		if !w.chosen.t.has(k) {
			out = append(out, LeftOut{Kind: k, Title: bare(stageTitles[slices.Index(kinds[:], k)]), Why: w.idle(k)})
		}
	}
	ways := make([]*score, len(out)) // the best way of adding each kind that has something to do
	err := w.parallel(len(out), func(i int) (err error) {
		if out[i].Why == "" {
			ways[i], err = w.bestWith(out[i].Kind)
		}
		return err
	})
	if err != nil {
		return nil, err
	}
	var trains []train
	for i, sc := range ways {
		if sc != nil {
			trains = append(trains, sc.t)
			w.tally.Screened += len(w.waysOf(out[i].Kind))
		}
	}
	if err := w.rideAll(trains); err != nil {
		return nil, err
	}
	for i := range out {
		switch {
		case out[i].Why != "":
		case ways[i] == nil:
			out[i].Why = "it has no place in this train"
		default:
			if err := w.leaveOut(&out[i], w.rides[ways[i].t.key()]); err != nil {
				return nil, err
			}
		}
	}
	return out, nil
}

// installs reports whether a stage of a kind stands there already.
func (w *writer) installs(k process.Kind) bool {
	return slices.ContainsFunc(w.in.Rig.Installed, func(in Installed) bool { return in.Kind == k })
}

// idle says why a kind of stage need not even be tried; nothing if it must.
func (w *writer) idle(k process.Kind) string {
	p, listed := purposes[k]
	switch installed := w.installs(k); {
	case slices.Contains(w.o.Forbid, k):
		return "ruled out by you"
	case listed && !installed && !p.servesAny(w.b.raw):
		return p.none
	case forMetal(k) && !installed && !w.metalOrSulfide(w.b.raw):
		return "no iron, manganese or sulfide was measured that it could take out"
	case k == process.Disinfection && !installed && !w.microbes:
		return "no bacteria were reported, and those in the water do not harm a bed; what grows in a standing vessel grows behind any lamp"
	}
	return ""
}

// leaveOut says why a kind is left out that was tried: best is the best way of
// adding it.
func (w *writer) leaveOut(out *LeftOut, best *ridden) (err error) {
	k, installed := out.Kind, w.installs(out.Kind)
	alone := best
	i := slices.IndexFunc(alone.t, func(c car) bool { return c.stage.Kind() == k })
	out.Title = alone.t[i].stage.Title()
	if lack := alone.lack(i); lack != "" {
		out.Why = "it " + lack
		if installed {
			out.Why = "installed, but " + out.Why
		}
		return nil
	}
	lead := ""
	if !admissible(best.found) {
		lead = "added to the plan it would break a limit: " + w.blocking(best)[0]
		if best, err = w.companion(k); err != nil {
			return err
		}
	}
	switch {
	case !alone.legs[i].changed && k != process.SedimentFilter:
		out.Why = "it would change nothing in this water that the bed or a later stage feels"
		if k == process.Disinfection {
			out.Why = "it kills germs, which do not harm the bed, and what grows in a standing vessel grows behind any lamp"
		}
	case best == nil:
		out.Why = "added to the plan it would break a limit: " + strings.Join(w.blocking(alone), "; ") + ", and no train was found in which it would not"
	case lead != "":
		out.Why = fmt.Sprintf("%s; in the train %s %s", lead, titles(best.t), w.verdict(out, best))
	default:
		out.Why = w.verdict(out, best)
	}
	if installed {
		out.Why = "installed, but questioned: " + out.Why
	}
	return nil
}

// verdict says what a train with the stage would give over the plan, with the
// numbers.
func (w *writer) verdict(out *LeftOut, best *ridden) string {
	rate := w.lifeRatio(best, w.chosen)
	extra := w.b.over(func(d int) float64 { return (best.bills[d].total() - w.chosen.bills[d].total()).Money() })
	hours := best.hours[w.b.central] - w.chosen.hours[w.b.central]
	out.LifeRatio, out.ExtraCost, out.ExtraTask = &rate, &extra, &hours
	currency, years := w.in.Rig.Prices.Currency, w.in.Rig.Use.HorizonYears
	money := fmt.Sprintf("%s more over %d years", amount(currency, extra.P50), years)
	lives := "it would not change the life of a fill"
	if math.Abs(rate.P50-1) >= 0.005 {
		lives = fmt.Sprintf("it would hardly change the life of a fill (%.2f times)", rate.P50)
	}
	longer := "it would make a fill last " + lifeTimes(rate.P50) + " as long"
	switch {
	case rate.P50 >= extends && extra.P50 > 0:
		return fmt.Sprintf("%s, but cost %s: more than the resin it saves", longer, money)
	case rate.P50 >= extends:
		return fmt.Sprintf("%s and cost %s less over %d years at typical prices, but more on the average of the prices and waters that fit, or at the price of a recommended limit", longer, amount(currency, -extra.P50), years)
	case rate.P50 <= 1/extends:
		return fmt.Sprintf("it adds to the load: a fill would last %.2f times as long, for %s", rate.P50, money)
	}
	switch accepted := w.accepted(best); {
	case accepted != "" && best.penalty < w.chosen.penalty:
		return fmt.Sprintf("%s; it would protect from what the plan accepts (%s), for %s: more than the resin it might save", lives, accepted, money)
	case accepted != "":
		return fmt.Sprintf("%s; it would protect from what the plan accepts (%s), for %s, but it brings limits of its own that this water breaks", lives, accepted, money)
	}
	return fmt.Sprintf("%s, for %s; nothing here needs its protection", lives, money)
}

// amount prints money in whole units.
func amount(currency string, x float64) string {
	if currency == "USD" {
		return fmt.Sprintf("$%.0f", x)
	}
	return fmt.Sprintf("%s %.0f", currency, x)
}

// lifeTimes prints a ratio of lives. Where the feed alone keeps the limit of
// residue, a life has no end and a ratio no meaning.
func lifeTimes(x float64) string {
	switch {
	case x > 1000:
		return "over 1000 times"
	case x >= 10:
		return fmt.Sprintf("%.0f times", x)
	}
	return fmt.Sprintf("%.2f times", x)
}

func titles(t train) string {
	var all []string
	for _, c := range t {
		all = append(all, c.stage.Title())
	}
	return "(" + strings.Join(all, "; ") + ")"
}

// companion is the cheapest admissible train that has a kind of stage, of the
// trains screened.
func (w *writer) companion(k process.Kind) (*ridden, error) {
	var order []*score
	for i := range w.trains {
		if w.trains[i].t.has(k) {
			order = append(order, &w.trains[i])
		}
	}
	slices.SortFunc(order, func(a, b *score) int { return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.order, b.order)) })
	const most = 200
	for _, sc := range order[:min(most, len(order))] {
		if err := w.admit(sc); err != nil {
			return nil, err
		}
		if sc.admit {
			if r, err := w.ride(sc.t); err != nil || admissible(r.found) {
				return r, err
			}
		}
	}
	return nil, nil
}

// accepted names the recommended limits that the plan breaks and another train
// does not.
func (w *writer) accepted(other *ridden) string {
	var all []string
	for k := range w.chosen.found {
		x := &w.chosen.found[k]
		if !x.must && x.share > conditionalFrom && other.breaks(x, w.chosen) < x.share {
			if x.rule != nil {
				all = append(all, lowerFirst(x.rule.Title))
			} else {
				all = append(all, x.sentence(w.chosen.t, w.chosen.legs))
			}
		}
	}
	return strings.Join(all, "; ")
}

// blocking names the must limits that a train breaks in more than half of the
// draws.
func (w *writer) blocking(r *ridden) []string {
	var all []string
	for k := range r.found {
		if x := &r.found[k]; x.must && x.share > holdsAbove {
			if x.rule != nil {
				all = append(all, lowerFirst(x.rule.Title))
			} else {
				all = append(all, x.sentence(r.t, r.legs))
			}
		}
	}
	return all
}

// waysOf lists the stages of a kind in the places that they may fill.
func (w *writer) waysOf(k process.Kind) []car {
	return slices.DeleteFunc(slices.Concat(w.places...), func(c car) bool { return c.stage.Kind() != k })
}

// bestWith returns the best way to add a kind of stage to the chosen train; nil
// if it has no place there.
func (w *writer) bestWith(k process.Kind) (*score, error) {
	var best *score
	for _, c := range w.waysOf(k) {
		t := w.chosen.t.with(c)
		sc, err := w.tree.score(new(account), t, w.tree.ride(t))
		if err != nil {
			return nil, err
		}
		if err := w.admit(&sc); err != nil {
			return nil, err
		}
		if best == nil || sc.admit && !best.admit || sc.admit == best.admit && sc.cost+sc.penalty < best.cost+best.penalty {
			best = &sc
		}
	}
	return best, nil
}

// membraneAlone is the cheapest train with reverse osmosis whose product meets
// the limit of dry residue with no vessel behind it.
func (w *writer) membraneAlone() (*Alternative, error) {
	var order []*score
	for i := range w.trains {
		if w.trains[i].t.has(process.ReverseOsmosis) {
			order = append(order, &w.trains[i])
		}
	}
	slices.SortFunc(order, func(a, b *score) int { return cmp.Or(cmp.Compare(a.cost, b.cost), cmp.Compare(a.order, b.order)) })
	limit := w.in.Rig.Ends.Residue
	const most = 64
	for _, sc := range order[:min(most, len(order))] {
		legs := w.spread(sc.legs)
		feed := w.small.feed(legs, len(legs))
		met := w.small.shareOf(func(i int) bool { return water.DryResidue(&feed[i]) <= limit })
		if met <= holdsAbove {
			continue
		}
		r, err := w.ride(sc.t)
		if err != nil {
			return nil, err
		}
		stagesOnly := slices.DeleteFunc(slices.Clone(r.found), func(x breach) bool { return x.place == len(r.t) })
		if !admissible(stagesOnly) {
			continue
		}
		return w.withoutVessel(r, stagesOnly), nil
	}
	return nil, nil
}

func (w *writer) withoutVessel(r *ridden, found []breach) *Alternative {
	b := w.b
	years := float64(w.in.Rig.Use.HorizonYears)
	rinses := w.in.Rig.Use.Rinses() * w.in.Rig.Use.horizon()
	n := len(b.raw)
	first, running := make([]Cents, n), make([]Cents, n)
	for i := range n {
		r.account.bill(b, i, r.lives[i].Residue, func(k int, c Cents) {
			switch l := &r.account.lines[k]; {
			case l.vessel:
			case l.first:
				first[i] += c
			default:
				running[i] += c
			}
		})
	}
	feed := b.feed(r.legs, len(r.legs))
	residue := b.over(func(i int) float64 { return float64(water.DryResidue(&feed[i])) })
	a := &Alternative{Name: "reverse_osmosis_without_vessel", Stages: r.t.mentions(), Status: statusOf(found),
		Text:        fmt.Sprintf("Reverse osmosis with no vessel behind it: its product dries to %.2g mg/L (%.2g to %.2g), the limit is %.3g.", residue.P50, residue.P10, residue.P90, float64(w.in.Rig.Ends.Residue)),
		First:       b.over(func(i int) float64 { return first[i].Money() }),
		PerYear:     b.over(func(i int) float64 { return running[i].Money() / years }),
		Horizon:     b.over(func(i int) float64 { return (first[i] + running[i]).Money() }),
		PerRinse:    b.over(func(i int) float64 { return (first[i] + running[i]).Money() / rinses }),
		UpkeepHours: b.over(func(i int) float64 { return r.account.hours(b, 1) }),
		WasteWater:  b.over(func(i int) float64 { return r.waste[i] }),
	}
	a.CheaperShare = b.shareOf(func(i int) bool { return first[i]+running[i] < w.chosen.bills[i].total() })
	return a
}

// bought is DI water from a shop: no vessel, no stages.
func (w *writer) bought() Alternative {
	b, u := w.b, &w.in.Rig.Use
	price, ok := b.purse.price("di_water")
	litres := float64(u.YearVolume()) * u.horizon()
	total := func(i int) Cents {
		if !ok {
			return 0
		}
		return cents(litres * b.purse.at[price][i])
	}
	years := float64(u.HorizonYears)
	return Alternative{Name: "buy_water", Stages: []Mention{}, Status: StatusMeets, Text: "DI water bought in containers: no vessel, no stages.",
		PerYear:      b.over(func(i int) float64 { return total(i).Money() / years }),
		Horizon:      b.over(func(i int) float64 { return total(i).Money() }),
		PerRinse:     b.over(func(i int) float64 { return total(i).Money() / (u.Rinses() * u.horizon()) }),
		CheaperShare: b.shareOf(func(i int) bool { return total(i) < w.chosen.bills[i].total() })}
}

// exchange is the chosen train with the vessel swapped by a service instead of
// refilled.
func (w *writer) exchange() (Alternative, error) {
	in := *w.in
	in.Rig.Vessels = slices.Clone(in.Rig.Vessels)
	for k := range in.Rig.Vessels {
		v := &in.Rig.Vessels[k]
		v.Kind, v.Condition, v.Price, v.FillPrice, v.Owned = KindExchange, bed.Regenerated(), nil, nil, false
		v.Vessel, v.FillHours = v.Condition.Typical(v.Vessel), fillHours[KindExchange]
	}
	b := newBench(&in, w.b.raw, w.o.Seed)
	r, err := b.try(w.chosen.t, w.chosen.legs)
	if err != nil {
		return Alternative{}, err
	}
	elsewhere := *w.search
	elsewhere.in = &in
	other := *w
	other.b, other.search = b, &elsewhere
	a := other.alternative("exchange_service", "The same stages, the vessel swapped by an exchange service that regenerates the resin elsewhere.", r)
	a.Chosen = false
	return a, nil
}
