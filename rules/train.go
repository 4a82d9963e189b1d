package rules

import (
	"slices"

	"forebed/chem/process"
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
var slots = []slot{
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
	slotFine        = 10
	slotDegasAfter  = 12
)

// ferrous is the variant of softener that stands in the earlier of its places.
const ferrous = "ferrous"

// fits reports whether a stage may fill a slot.
func (sl *slot) fits(i int, s process.Stage) bool {
	if !slices.Contains(sl.kinds, s.Kind()) {
		return false
	}
	if s.Kind() == process.Softener {
		return (s.Variant() == ferrous) == (i == slotFerrous)
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
	ms := make([]Mention, len(t))
	for i, c := range t {
		ms[i] = mention(c.stage)
	}
	return ms
}

func mention(s process.Stage) Mention {
	return Mention{Kind: s.Kind(), Variant: s.Variant(), Title: s.Title()}
}

// key tells two trains apart.
func (t train) key() string {
	var b []byte
	for _, c := range t {
		b = append(b, byte('a'+c.slot))
		b = append(b, c.stage.Variant()...)
		b = append(b, '/')
		b = append(b, c.stage.Kind()...)
		b = append(b, ' ')
	}
	return string(b)
}

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

// follows reports whether a stage may stand directly behind a train, by the
// rules of place.
func (t train) follows(next car, orders []process.Order) bool {
	k := next.stage.Kind()
	for i := range t {
		if t[i].stage.Kind() == k && k != process.SedimentFilter {
			return false
		}
	}
	for _, o := range orders {
		if o.First != k || o.FirstVariant != "" && o.FirstVariant != next.stage.Variant() {
			continue
		}
		for i := range t {
			if t[i].stage.Kind() == o.Then && (o.ThenVariant == "" || o.ThenVariant == t[i].stage.Variant()) {
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

// complete reports whether a train stands as it is: a stage in the earlier of
// its two places needs a reason to be there.
func (t train) complete() bool {
	for i, c := range t {
		rest := t[i+1:]
		if c.slot == slotDegasBefore && !rest.has(process.ReverseOsmosis) {
			return false
		}
	}
	return true
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
