package rules

import (
	"math"
	"slices"

	"forebed/chem/process"
	"forebed/chem/water"
)

// slot is a place in a train that one of some kinds of stage may take.
type slot struct {
	kinds []process.Kind
	why   string
}

// slots are the places of a train from the well to the vessel. Every train
// the search tries fills some of them. Softener, degasser and sediment filter
// have two places each. Order and reasons: treatment ledger section 5.9;
// process.Orders is obeyed besides.
var slots = [...]slot{
	{[]process.Kind{process.SedimentFilter}, "grit first, so that nothing behind it plugs"},
	{[]process.Kind{process.Softener}, "a softener that takes ferrous iron stands ahead of any air or oxidant"},
	{[]process.Kind{process.Aeration}, "air takes out for nothing what oxidant would be spent on, and carbon dioxide with it"},
	{[]process.Kind{process.AcidNeutralizer}, "pH correction where the iron filter needs it"},
	{[]process.Kind{process.OxidantFeed, process.Disinfection}, "oxidation ahead of its filter"},
	{[]process.Kind{process.OxidizingMediaFilter, process.SedimentFilter}, "the filter that holds oxidized iron, manganese and sulfur"},
	{[]process.Kind{process.OrganicsTrap}, "organics off ahead of carbon, softener and bed"},
	{[]process.Kind{process.Carbon, process.CatalyticCarbon}, "carbon takes the oxidant that is left"},
	{[]process.Kind{process.Softener}, "softening ahead of a membrane"},
	{[]process.Kind{process.Degasser}, "carbon dioxide off ahead of the membrane"},
	{[]process.Kind{process.SedimentFilter}, "fine filter ahead of membrane or vessel"},
	{[]process.Kind{process.ReverseOsmosis}, "membrane"},
	{[]process.Kind{process.Degasser}, "carbon dioxide off behind the membrane, which lets it pass"},
	{[]process.Kind{process.Disinfection}, "disinfection behind the last open tank"},
}

// The slots that a rule of completeness names.
const (
	slotInlet       = 0
	slotFerrous     = 1
	slotFilter      = 5
	slotSoftener    = 8
	slotDegasBefore = 9
	slotMembrane    = 11
)

// Variants that have a place of their own.
const (
	ferrous  = "ferrous"   // the softener ahead of any oxidant
	depthBed = "depth_bed" // the sediment filter behind an oxidant
)

// fits reports whether a stage may fill a slot.
func (sl *slot) fits(i int, s process.Stage) bool {
	if !slices.Contains(sl.kinds, s.Kind()) {
		return false
	}
	switch s.Kind() {
	case process.Softener:
		return (s.Variant() == ferrous) == (i == slotFerrous)
	case process.SedimentFilter: // a bed that is backwashed copes with floc, cartridges polish
		return i == slotInlet || (s.Variant() == depthBed) == (i == slotFilter)
	}
	return true
}

// car is one stage of a train in its slot.
type car struct {
	slot      int
	stage     process.Stage
	installed bool
}

// train is an ordered list of stages, the one nearest the well first.
type train []car

func (t train) kinds() []process.Kind {
	ks := make([]process.Kind, len(t))
	for i := range t {
		ks[i] = t[i].stage.Kind()
	}
	return ks
}

func (t train) has(k process.Kind) bool {
	return slices.ContainsFunc(t, func(c car) bool { return c.stage.Kind() == k })
}

// with returns a copy of the train with one more stage in its place.
func (t train) with(c car) train {
	i, _ := slices.BinarySearchFunc(t, c.slot, func(a car, s int) int { return a.slot - s })
	return slices.Insert(slices.Clone(t), i, c)
}

// without returns a copy of the train with stage i left out.
func (t train) without(i int) train { return slices.Delete(slices.Clone(t), i, i+1) }

func (t train) mentions() []Mention {
	ms := make([]Mention, len(t)) // never null in a document
	for i, c := range t {
		ms[i] = mention(c.stage)
	}
	return ms
}

func mention(s process.Stage) Mention {
	return Mention{Kind: s.Kind(), Variant: s.Variant(), Title: s.Title()}
}

// trainKey tells two trains apart: slot and place in the catalogue of each
// stage, in order.
type trainKey string

func (t train) key() trainKey {
	b := make([]byte, 0, 2*len(slots))
	for _, c := range t {
		b = append(b, byte(c.slot), catalogued[c.stage])
	}
	return trainKey(b)
}

var catalogued = func() map[process.Stage]uint8 {
	places := map[process.Stage]uint8{}
	for i, s := range process.Catalogue() {
		places[s] = uint8(i)
	}
	return places
}()

// shared counts the leading stages that plain filtered water passes as well:
// all up to the last one that filters or conditions the whole supply. Stages
// that serve the vessel only (softener, trap, degasser, membrane, lamp) may
// stand among them.
func (t train) shared() int {
	for i := len(t) - 1; i >= 0; i-- {
		switch t[i].stage.Kind() {
		case process.Softener, process.OrganicsTrap, process.Degasser, process.ReverseOsmosis, process.Disinfection:
		default:
			return i + 1
		}
	}
	return 0
}

// makesFloc reports whether a kind of stage turns dissolved metal into
// particles or lets particles of its medium go.
func makesFloc(k process.Kind) bool {
	return k == process.Aeration || k == process.OxidantFeed || k == process.OxidizingMediaFilter
}

// ordersOf returns the rules of place that want a stage ahead of others.
func ordersOf(s process.Stage) []process.Order {
	return slices.DeleteFunc(process.Orders(), func(o process.Order) bool {
		return o.First != s.Kind() || o.FirstVariant != "" && o.FirstVariant != s.Variant()
	})
}

// follows reports whether a stage may stand directly behind a train, by the
// rules of place that want it ahead of others.
func (t train) follows(next car, orders []process.Order) bool {
	k := next.stage.Kind()
	for i := range t {
		if t[i].stage.Kind() == k && k != process.SedimentFilter {
			return false
		}
	}
	for _, o := range orders {
		for i := range t {
			if o.Binds(next.stage, t[i].stage) {
				return false // next belongs ahead of a stage that it would follow
			}
		}
	}
	if k == process.SedimentFilter && next.slot != slotInlet { // a later filter pays only where floc was made behind the first
		last := -1
		for i := range t {
			if t[i].stage.Kind() == k {
				last = i
			}
		}
		return slices.ContainsFunc(t[last+1:], func(c car) bool { return makesFloc(c.stage.Kind()) })
	}
	return true
}

// complete reports whether a train stands as it is. A degasser in the earlier
// of its places and a new softener are there for the membrane (a mixed bed
// needs no softening), a new neutralizer for the iron filter (calcite would
// only add to the load on the bed).
func (t train) complete() bool {
	for i, c := range t {
		if c.installed {
			continue
		}
		rest := t[i+1:]
		switch {
		case c.slot == slotDegasBefore || c.slot == slotSoftener:
			if !rest.has(process.ReverseOsmosis) {
				return false
			}
		case c.stage.Kind() == process.AcidNeutralizer:
			if !rest.has(process.OxidizingMediaFilter) {
				return false
			}
		}
	}
	return true
}

// hopeless reports whether a train cannot become complete by stages from a
// slot on.
func (t train) hopeless(slot int) bool {
	return slot > slotFilter && slices.ContainsFunc(t, func(c car) bool {
		return c.stage.Kind() == process.AcidNeutralizer && !c.installed
	}) && !t.has(process.OxidizingMediaFilter)
}

// purpose is what a kind of stage is for. The search tries the kind where the
// water that would enter it gives it something to do in at least one of the
// draws; elsewhere it could only cost.
type purpose struct {
	serves func(w *water.Water) bool
	none   string // why it is left out where it serves nothing
}

// purposes of the kinds. A kind that is not listed serves every water, or is
// there for metal, see search.metalOrSulfide. The marks lie below every limit of the rules, so that nothing a rule could ask
// for is lost.
var purposes = map[process.Kind]purpose{
	process.AcidNeutralizer: {func(w *water.Water) bool { return w.PH < 6.85 },
		"the water is not acid; calcite would only add to the load on the bed"},
	process.OrganicsTrap: {func(w *water.Water) bool { return w.Matter.OrganicCarbon > 1 || w.Matter.Tannin > 0.2 },
		"no organics were reported that it could take out"},
	process.Degasser: {func(w *water.Water) bool { return w.CarbonDioxide() > 3 || w.SulfideMilligrams() > 0.05 },
		"there is too little carbon dioxide in this water to be worth blowing off"},
}

// servesAny reports whether a kind of stage has something to do in any of the
// draws.
func (p purpose) servesAny(draws []water.Water) bool {
	for i := range draws {
		if p.serves(&draws[i]) {
			return true
		}
	}
	return false
}

// alike reports whether two waters are the same to every rule and to the bed.
// The marks are a tenth or less of the tightest limit on each quantity.
func alike(a, b *water.Water) bool {
	near := func(x, y, mark float64) bool { return x-y <= mark && y-x <= mark }
	for i, mark := range ionMarks {
		if !near(float64(a.Ion[i]), float64(b.Ion[i]), mark) {
			return false
		}
	}
	m, n := &a.Matter, &b.Matter
	return near(a.PH, b.PH, 0.05) && near(float64(a.CO2), float64(b.CO2), 0.01) && near(float64(a.Silica), float64(b.Silica), 0.01) &&
		near(float64(a.Sulfide), float64(b.Sulfide), 0.0003) && near(float64(m.ParticulateIron), float64(n.ParticulateIron), 0.01) &&
		near(float64(m.ParticulateManganese), float64(n.ParticulateManganese), 0.005) && near(float64(m.FreeChlorine), float64(n.FreeChlorine), 0.005) &&
		near(float64(m.Chloramine), float64(n.Chloramine), 0.01) && near(m.Turbidity, n.Turbidity, 0.1) &&
		near(float64(m.SuspendedSolids), float64(n.SuspendedSolids), 0.1) && near(float64(m.OrganicCarbon), float64(n.OrganicCarbon), 0.1) &&
		near(float64(m.Tannin), float64(n.Tannin), 0.05) && m.Unknown == n.Unknown
}

// ionMarks are the marks of alike in mmol/L: 1 mg/L as CaCO3 of hardness,
// 0.01 mg/L of iron, 0.005 of manganese, 0.02 meq/L of the rest.
var ionMarks = func() (m [water.NumIons]float64) {
	for i := range m {
		m[i] = 0.02
	}
	m[water.Calcium], m[water.Magnesium] = 0.01, 0.01
	m[water.Iron], m[water.Manganese] = 0.01/55.8, 0.005/54.9
	return m
}()

// grade is a water as the limits see it: between which marks each foulant
// lies, and the load to a tenth. Two variants of a stage whose waters have the
// same grade are as good as one another, but for their price.
type grade [12]int8

// marks of the foulants, each the limits that rules and windows set on it.
var (
	chlorineMarks   = []float64{0.05, 0.1, 1}
	chloramineMarks = []float64{0.1, 0.5, 1}
	ironMarks       = []float64{0.1, 0.3, 1, 5}
	manganeseMarks  = []float64{0.05, 0.5}
	sulfideMarks    = []float64{0.1, 0.3, 2, 5}
	particleMarks   = []float64{1, 5}
	organicsMarks   = []float64{2, 3}
	tanninMarks     = []float64{0.5}
	hardnessMarks   = []float64{120, 171}
	acidityMarks    = []float64{5.5, 6.5, 6.8, 7.5, 8.5, 9}
)

func gradeOf(w *water.Water) grade {
	between := func(x float64, marks []float64) int8 {
		n := int8(0)
		for _, m := range marks {
			if x > m {
				n++
			}
		}
		return n
	}
	const tenth = 0.0953 // log 1.1
	m := &w.Matter
	load := w.Load()
	return grade{
		between(float64(m.FreeChlorine), chlorineMarks), between(float64(m.Chloramine), chloramineMarks),
		between(float64(w.Milligrams(water.Iron)), ironMarks), between(float64(m.ParticulateIron), ironMarks),
		between(float64(w.Milligrams(water.Manganese)+m.ParticulateManganese), manganeseMarks), between(float64(w.SulfideMilligrams()), sulfideMarks),
		between(max(m.Turbidity, float64(m.SuspendedSolids)), particleMarks), between(float64(m.OrganicCarbon), organicsMarks),
		between(float64(m.Tannin), tanninMarks), between(float64(w.Hardness()), hardnessMarks), between(w.PH, acidityMarks),
		int8(max(-100, math.Round(math.Log(float64(load.Cation+load.Anion))/tenth))),
	}
}

// allows is what an owner rules in or out.
func (o *Options) allows(t train) bool {
	for _, k := range o.Force {
		if !t.has(k) {
			return false
		}
	}
	return true
}
