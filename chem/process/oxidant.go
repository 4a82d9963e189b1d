package process

import (
	"forebed/chem/unit"
	"forebed/chem/water"
)

// Oxidant is a substance that oxidizes iron, manganese or sulfide.
type Oxidant int

// The oxidants of the stoichiometric table.
const (
	OxygenGas Oxidant = iota
	ChlorineGas
	SodiumHypochlorite
	CalciumHypochlorite
	ChlorineDioxide // to chlorite
	Permanganate    // to manganese dioxide
	Peroxide
	Ozone // one atom of three acts
)

// oxidants gives the electrons that one formula unit takes up.
var oxidants = [...]struct {
	formula   string
	electrons float64
}{
	OxygenGas:           {"O2", 4},
	ChlorineGas:         {"Cl2", 2},
	SodiumHypochlorite:  {"NaClO", 2},
	CalciumHypochlorite: {"CaCl2O2", 4},
	ChlorineDioxide:     {"ClO2", 1},
	Permanganate:        {"KMnO4", 3},
	Peroxide:            {"H2O2", 2},
	Ozone:               {"O3", 2},
}

// Reductant is what an oxidant is spent on.
type Reductant int

// The reductants of the stoichiometric table.
const (
	FerrousIron        Reductant = iota // to ferric hydroxide
	DivalentManganese                   // to manganese dioxide
	SulfideToSulfur                     // H2S to sulfur
	SulfideToSulfate                    // H2S to sulfate
	AmmoniumToNitrogen                  // ammonia, as N, to nitrogen gas: the breakpoint
)

// reductants gives the electrons that one formula unit gives up.
var reductants = [...]struct {
	formula   string
	electrons float64
}{
	FerrousIron:        {"Fe", 1},
	DivalentManganese:  {"Mn", 2},
	SulfideToSulfur:    {"H2S", 2},
	SulfideToSulfate:   {"H2S", 8},
	AmmoniumToNitrogen: {"N", 3},
}

// Stoichiometry returns the mg of an oxidant that one mg of a reductant takes
// up, from the electrons of both half reactions. Published tables print the
// same within 4 % (ledger E-STOICH-TABLE1 and 2). Permanganate and oxygen do
// not oxidize ammonia in practice, whatever the electrons say.
func Stoichiometry(o Oxidant, r Reductant) float64 {
	ox, red := oxidants[o], reductants[r]
	return red.electrons / ox.electrons * formula(ox.formula) / formula(red.formula)
}

// The same once and for all, for the stages.
var (
	chlorinePerIron      = Stoichiometry(ChlorineGas, FerrousIron)
	chlorinePerManganese = Stoichiometry(ChlorineGas, DivalentManganese)
	chlorinePerSulfide   = Stoichiometry(ChlorineGas, SulfideToSulfate)
	oxygenPerIron        = Stoichiometry(OxygenGas, FerrousIron)
	oxygenPerManganese   = Stoichiometry(OxygenGas, DivalentManganese)
)

// Alkalinity that the acid of an oxidation takes up, in mg as CaCO3 per mg of
// metal, by air or hypochlorite: two H+ for each divalent ion that leaves.
// Iron 1.792 and manganese 1.822, ledger E-FE-ALK-O2 and E-MN-ALK. Chlorine
// gas brings acid of its own: 2.688 for iron (E-FE-ALK-CL2).
var (
	AlkalinityPerIron      = molarCaCO3 / molarFe
	AlkalinityPerManganese = molarCaCO3 / molarMn
)

// Demand is what a water takes of an oxidant, in mg/L of it.
type Demand struct {
	Iron, Manganese, Sulfide, Ammonium, Organics unit.MgPerL
	Unmeasured                                   Notes // what nobody measured: organics and sulfide are left out, ammonia is that of wells
}

// Total returns the sum.
func (d Demand) Total() unit.MgPerL {
	return d.Iron + d.Manganese + d.Sulfide + d.Ammonium + d.Organics
}

var (
	breakpoint = Figure{"breakpoint", 10, 7.6, 15, "mg Cl2 per mg N", "chlorine that ammonia takes before free chlorine stays",
		Source{"", "theory 7.6 (3 Cl2 for 2 NH3), practice about 10: textbook figures", FromMemory}}
	chlorinePerOrganics = Figure{"chlorine_per_toc", 1, 0.5, 2, "mg Cl2 per mg TOC", "chlorine demand of organics", practice}

	permanganatePerIron      = Figure{"permanganate_per_iron", 1, 0.94, 1, "mg KMnO4 per mg Fe", "field rule", permanganateRule}
	permanganatePerManganese = Figure{"permanganate_per_manganese", 2, 1.92, 2, "mg KMnO4 per mg Mn", "field rule", permanganateRule}
	permanganatePerSulfide   = Figure{"permanganate_per_sulfide", 5, 3.09, 5, "mg KMnO4 per mg H2S", "field rule", permanganateRule}
	permanganatePerOrganics  = Figure{"permanganate_per_toc", 1, 0.5, 2, "mg KMnO4 per mg TOC", "permanganate demand of organics", practice}

	permanganateRule = Source{"E14 C09", "manganese-coated media sheet (name withheld): demand = 1 Fe + 2 Mn + 5 H2S", Verified}
)

// unmeasured returns what the demand of a water does not rest on a measurement of.
func unmeasured(w *water.Water, ammonia bool) Notes {
	var n Notes
	if w.Matter.Unknown.Has(water.UnknownOrganicCarbon) {
		n |= NoteOrganicsUnknown
	}
	if w.Matter.Unknown.Has(water.UnknownSulfide) {
		n |= NoteSulfideUnknown
	}
	if ammonia && w.Matter.Unknown.Has(water.UnknownAmmonium) {
		n |= NoteAmmoniumUnknown
	}
	return n
}

// ChlorineDemand returns the chlorine, as Cl2, that a water takes before free
// chlorine stays: iron, manganese and sulfide (to sulfate) by stoichiometry,
// ammonia to past the breakpoint, organics by rule.
func ChlorineDemand(w *water.Water) Demand {
	return Demand{
		Iron:       w.Milligrams(water.Iron) * unit.MgPerL(chlorinePerIron),
		Manganese:  w.Milligrams(water.Manganese) * unit.MgPerL(chlorinePerManganese),
		Sulfide:    w.SulfideMilligrams() * unit.MgPerL(chlorinePerSulfide),
		Ammonium:   mg(w.Ion[water.Ammonium], molarN) * unit.MgPerL(breakpoint.Value),
		Organics:   w.Matter.OrganicCarbon * unit.MgPerL(chlorinePerOrganics.Value),
		Unmeasured: unmeasured(w, true),
	}
}

// PermanganateDemand returns the potassium permanganate that a water takes by
// the field rule 1 Fe + 2 Mn + 5 H2S (mg/L), and organics by rule. Ammonia
// takes none.
func PermanganateDemand(w *water.Water) Demand {
	return Demand{
		Iron:       w.Milligrams(water.Iron) * unit.MgPerL(permanganatePerIron.Value),
		Manganese:  w.Milligrams(water.Manganese) * unit.MgPerL(permanganatePerManganese.Value),
		Sulfide:    w.SulfideMilligrams() * unit.MgPerL(permanganatePerSulfide.Value),
		Organics:   w.Matter.OrganicCarbon * unit.MgPerL(permanganatePerOrganics.Value),
		Unmeasured: unmeasured(w, false),
	}
}

// oxidize turns shares of the dissolved iron and manganese into floc. The
// acid this frees is settled afterwards.
func oxidize(w *water.Water, iron, manganese float64) {
	fe, mn := w.Ion[water.Iron]*unit.MmolPerL(iron), w.Ion[water.Manganese]*unit.MmolPerL(manganese)
	w.Ion[water.Iron] -= fe
	w.Ion[water.Manganese] -= mn
	w.Matter.ParticulateIron += mg(fe, molarFe)
	w.Matter.ParticulateManganese += mg(mn, molarMn)
}

// boundIron tells whether a water has tannin above the trade's mark: its iron
// is then taken to be bound to organics, and no stage but a membrane is
// credited with it (ledger E-TANNIN2).
func boundIron(w *water.Water) bool { return float64(w.Matter.Tannin) > tanninMark.Value }

var (
	tanninMark = Figure{"tannin_mark", 0.5, 0, 0, "mg/L", "tannin above which iron removal is troubled",
		Source{"E-TANNIN1", "water-treatment dealer page", Verified}}
	organicsMark = Figure{"organics_mark", 2, 0.5, 5, "mg/L TOC", "organics that foul the strong base",
		Source{"D14", "limit at a strong-base resin", FromMemory}}
)

// ironNotes adds what nobody can promise about this iron.
func ironNotes(w *water.Water) Notes {
	var n Notes
	if float64(w.Ion[water.Iron]) == 0 && w.Matter.ParticulateIron == 0 {
		return n
	}
	if w.Matter.Unknown.Has(water.UnknownIronForm) {
		n |= NoteIronFormUnknown
	}
	if boundIron(w) || float64(w.Matter.OrganicCarbon) > organicsMark.Value {
		n |= NoteOrganicIron
	}
	return n
}
