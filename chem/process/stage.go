package process

import (
	"iter"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// Kind names a kind of pretreatment stage, as in the plan document.
type Kind string

// The kinds of stage.
const (
	SedimentFilter       Kind = "sediment_filter"
	Carbon               Kind = "carbon"
	CatalyticCarbon      Kind = "catalytic_carbon"
	Aeration             Kind = "aeration"
	OxidantFeed          Kind = "oxidant_feed"
	OxidizingMediaFilter Kind = "oxidizing_media_filter"
	Softener             Kind = "softener"
	AcidNeutralizer      Kind = "acid_neutralizer"
	Degasser             Kind = "degasser"
	ReverseOsmosis       Kind = "reverse_osmosis"
	OrganicsTrap         Kind = "organics_trap"
	Disinfection         Kind = "disinfection"
)

// Stage is one kind and variant of stage. Apply carries a water through it and
// says what each litre uses; Size says what to buy for a duty. The two are
// apart because they run in opposite directions: water and its effects run
// from the well to the vessel, duties from the vessel to the well (reverse
// osmosis with a tank asks for a small steady flow, and for more water than
// it gives).
type Stage interface {
	Kind() Kind
	Variant() string // the variant's own id, such as "chlorine" or "calcite"
	Title() string   // plain words: "softener, 6 lb/ft3 of salt"
	Facts() *Facts   // shared and constant: do not change it
	Apply(in *water.Water) (Outcome, error)
	Size(in *water.Water, d Duty) Size
}

// Duty is what the rig asks of a stage.
type Duty struct {
	PeakFlow     unit.LitresPerMinute // the highest flow it must pass
	YearVolume   unit.Litres          // product water it must give in a year
	PeakDay      unit.Litres          // product water on the busiest day; sizes tanks and membranes
	DaysInUse    float64              // days of use a year, 1 to 365
	FeedPressure unit.Kilopascals     // pressure ahead of this stage
	Supply       unit.LitresPerMinute // what the well and pump can give, for a backwash; 0 for a common household pump
}

// Outcome is what a stage does to one water.
type Outcome struct {
	Out     water.Water
	Use     Use
	Outside Set   // windows of Facts().Windows that this water breaks
	Unsure  Set   // windows whose quantity this water does not tell
	Notes   Notes // other findings
}

// Set is a set of indexes, such as those of Facts().Windows.
type Set uint32

// Has reports whether index i is in the set.
func (s Set) Has(i int) bool { return s&(1<<i) != 0 }

// All runs through the indexes of the set in rising order.
func (s Set) All() iter.Seq[int] {
	return func(yield func(int) bool) {
		for i := range 32 {
			if s.Has(i) && !yield(i) {
				return
			}
		}
	}
}

// Use is what one litre of product consumes.
type Use struct {
	Feed    float64 // litres of feed; 1 if nothing but the calendar backwash of Size is wasted
	Salt    float64 // g of sodium chloride
	Oxidant float64 // g of the oxidant named in Facts().Oxidant
	Medium  float64 // g of the medium used up, named in Facts().Medium
	Energy  float64 // kWh
}

// Size is what to buy for a duty, and what runs by the calendar.
type Size struct {
	Text     string               // "10 x 54 in tank, 1.5 ft3 of medium"
	Class    string               // size class, the last part of the price key
	Units    int                  // how many in parallel, at least 1
	Medium   unit.Litres          // medium, resin or carbon in all units; 0 if it has none
	Area     float64              // cross-section (or membrane area) of all units in m2; 0 if it has none
	Tank     unit.Litres          // storage or contact tank; 0 if it has none
	Drop     unit.Kilopascals     // pressure drop at peak flow, clean
	End      unit.Kilopascals     // pressure of the feed over the osmotic pressure at the end of a membrane; 0 for other stages
	Repumped bool                 // it delivers from an open or atmospheric tank through its own pump
	Backwash unit.LitresPerMinute // flow the supply must give during backwash, one unit at a time
	Waste    unit.Litres          // water to the drain in a year by the calendar, beyond Use.Feed
	Salt     unit.Kilograms       // sodium chloride in a year by the calendar, beyond Use.Salt
	Energy   float64              // kWh in a year by the calendar, beyond Use.Energy
	Feed     Duty                 // what it asks of the stage ahead of it
	Interval float64              // days of use between regenerations or backwashes; 0 if it has none
	Upkeep   []Upkeep
	Notes    Notes
}

// PriceKey returns the key under which equipment of that size is priced:
// kind, variant and size class with slashes between them.
func PriceKey(s Stage, z Size) string { return string(s.Kind()) + "/" + s.Variant() + "/" + z.Class }

// Facts is what a stage states about itself, for rules and explanations.
type Facts struct {
	Windows  []Window // at most 32
	Protects []Protection
	Needs    Needs
	Service  Figure // flow per area at peak, which Size keeps to; zero where there is no bed
	Backwash Figure // flow per area; zero where there is none
	Oxidant  string // price key of what Use.Oxidant counts; empty if none
	Medium   string // price key of what Use.Medium counts; empty if none
	Claim    string // one sentence: what it takes out and what it leaves
	Source   Source // of the claim
}

// Effect tells what happens to a stage outside its window.
type Effect int

// The effects, mildest first.
const (
	Reduced Effect = iota // it takes out less; Apply computes how much where a law is known
	Fouls                 // it plugs, coats or ages before its time
	Damages               // it is ruined: a membrane by chlorine, resin by heat
	Refuses               // it does not work; Apply leaves unchanged what the stage is there to take out
)

// String returns the effect in plain words.
func (e Effect) String() string {
	return [...]string{"works less well", "fouls", "is damaged", "does not work"}[e]
}

// Window is the range of one quantity, in the water that enters, within which
// a stage does what it is bought for.
type Window struct {
	Quantity  Quantity
	Low, High float64 // in the quantity's unit; -Inf and +Inf where open
	Effect    Effect
	Text      string // what happens outside, in plain words
	Source    Source
}

// Protection names what a stage shields the stages behind it from.
type Protection struct {
	Kind   Kind   // the stage protected; empty for the mixed bed
	From   string // "iron that would coat the beads"
	Source Source
}

// Order is a rule of place: wherever both stages stand in a train, First
// stands nearer the well. An empty variant means all variants; ThenExcept
// frees one.
type Order struct {
	First, Then                           Kind
	FirstVariant, ThenVariant, ThenExcept string
	Why                                   string
	Source                                Source
}

// Needs is a set of things a stage asks of its site.
type Needs uint16

// Members of Needs.
const (
	NeedsDrain       Needs = 1 << iota // backwash, brine or concentrate must go somewhere
	NeedsPower                         // valve timer, pump, lamp or feeder
	NeedsFrostFree                     // it holds water and is ruined by ice
	NeedsIndoors                       // shelter from sun and weather
	NeedsVentilation                   // it releases gas
	NeedsTank                          // it ends in an open tank and must be repumped
	NeedsSalt                          // somebody carries bags
	NeedsHandling                      // somebody handles a strong oxidizer
)

// Has reports whether every need of q is in the set.
func (n Needs) Has(q Needs) bool { return n&q == q }

// Upkeep is one recurring task of a stage.
type Upkeep struct {
	Task    string  // "change the cartridge"
	Every   float64 // months
	Trigger string  // what brings it forward: "pressure drop up 10 psi"
	Hours   float64 // of work each time
	Part    string  // price key of what is replaced; empty if nothing
	Parts   float64 // how many of it each time
	Source  Source
}

// Source says where a figure comes from.
type Source struct {
	Rows   string // ids in the reference ledger, blank between them; empty if none
	Origin string // the document behind the row, or the habit
	Status Status
}

// Status tells how well a source was seen.
type Status int

// The marks of the ledger.
const (
	Verified       Status = iota // seen in a stored copy
	FromMemory                   // a textbook figure, not seen this time
	CommonPractice               // trade habit, no source
	Computed                     // arithmetic from other figures
)

// String returns the status in the ledger's words.
func (s Status) String() string {
	return [...]string{"verified in a stored copy", "from memory", "common practice, no source", "computed"}[s]
}

// Find returns the stage of a kind and variant, and whether the catalogue has
// it.
func Find(k Kind, variant string) (Stage, bool) {
	for _, s := range Catalogue() {
		if s.Kind() == k && s.Variant() == variant {
			return s, true
		}
	}
	return nil, false
}
