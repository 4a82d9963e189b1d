package process

import (
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

// Duty is what the site asks of a stage.
type Duty struct {
	PeakFlow     unit.LitresPerMinute // the highest flow it must pass
	YearVolume   unit.Litres          // product water it must give in a year
	DaysInUse    float64              // days of use a year, 1 to 365
	FeedPressure unit.Kilopascals     // pressure ahead of the first stage
}

// Stage is one kind and variant of stage, sized for a duty. Apply carries a
// water through it.
type Stage interface {
	Kind() Kind
	Variant() string // "" or the variant's own id, such as "air" or "calcite"
	Title() string   // plain words: "softener, 6 lb/ft3 salt"
	Size(d Duty) Size
	Apply(in *water.Water, d Duty) (Outcome, error)
}

// Size is what to buy for a duty.
type Size struct {
	Text     string           // "10 x 54 in tank, 1.5 ft3 of medium"
	Medium   unit.Litres      // volume of medium, resin or carbon; 0 if it has none
	Area     float64          // cross-section in m2; 0 if it has none
	Drop     unit.Kilopascals // pressure drop at peak flow, clean
	Backwash unit.LitresPerMinute
	Units    int // how many in parallel
}

// Outcome is what a stage does to one water.
type Outcome struct {
	Out   water.Water
	Use   Use
	Notes []Note // what happened outside the stage's window, what it could not do
}

// Use is what a stage consumes per litre of product.
type Use struct {
	Feed    float64 // litres of feed per litre of product; 1 if nothing is wasted
	Salt    float64 // g of sodium chloride
	Oxidant float64 // g of the variant's oxidant
	Medium  float64 // g of medium used up (calcite, magnesia, carbon)
	Energy  float64 // kWh
}

// Note is a finding about a stage on this water, in plain words, with an id
// that rules and tests can name.
type Note struct {
	ID   string
	Text string
}

// Upkeep is one recurring task of a stage.
type Upkeep struct {
	Task    string  // "change the cartridge"
	Every   float64 // months
	Trigger string  // what brings it forward: "pressure drop up 10 psi"
	Hours   float64 // of work each time
	Source  string
}
