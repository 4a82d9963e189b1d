package water

// Band is an uncertain quantity: the values that 10, 50 and 90 % of the
// draws stay below. The unit is that of the field that holds it.
type Band struct {
	P10 float64 `json:"p10"`
	P50 float64 `json:"p50"`
	P90 float64 `json:"p90"`
}

// Origin tells where a figure comes from.
type Origin string

// The origins of a figure.
const (
	Measured  Origin = "measured"  // reported, kept within its error
	Estimated Origin = "estimated" // not reported: drawn from the statistics of real wells
	Derived   Origin = "derived"   // follows from reported figures by a law (charge balance, pH and alkalinity)
)

// Reading is one constituent of a composition.
type Reading struct {
	Milligrams  Band // mg/L of the substance itself (nitrate as NO3, silica as SiO2)
	Equivalents Band // meq/L of charge; of load, one a mole, for CO2, silica and sulfide
	Origin      Origin
}

// Composition is what is in a water as far as its analysis tells: many
// draws, each exactly balanced, their bands, and what the checks found.
type Composition struct {
	Label   string  // of the sample
	Draws   []Water // seeded; each balanced within 1e-9 meq/L
	Central Water   // the draw whose anion load is nearest to the median

	Ions                  [NumIons]Reading
	CO2, Silica, Sulfide  Reading
	PH, Temperature       Band // pH; °C
	PHOrigin              Origin
	CationLoad, AnionLoad Band // meq/L
	IonicStrength         Band // mol/L
	Hardness, Alkalinity  Band // mg/L as CaCO3
	Conductivity          Band // uS/cm at 25 °C, by theory
	DissolvedSolids       Band // mg/L, sum of constituents
	Residue               Band // mg/L, what stays on a dried panel
	Calcite, Gypsum       Band // saturation indices
	AmorphousSilica       Band

	Given       []string // what the completion rests on, in plain words
	Checks      []Check
	Cautions    []Caution
	Assumptions []string // plain sentences
}

// Options steers a completion.
type Options struct {
	Draws int    // 1 to 100 000; 0 means 2000
	Seed  uint64 // the same seed and sample give the same composition
}

// Caution is a blind spot of the method that this water touches.
type Caution struct {
	ID     string `json:"id"`
	Text   string `json:"text"`
	Source string `json:"source"`
}
