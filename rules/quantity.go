package rules

import (
	"fmt"
	"strings"

	"forebed/chem/analyte"
	"forebed/chem/process"
	"forebed/chem/unit"
)

// Quantity indexes what a condition may name.
type Quantity int

// The quantities. The first group is read from a water, and from a report
// where it was measured; the second from a report only; the third describes
// the place a condition is judged at: the vessel, a stage, the site.
const (
	qPH Quantity = iota
	qTemperature
	qCalcium
	qMagnesium
	qSodium
	qPotassium
	qAmmonium
	qStrontium
	qBarium
	qChloride
	qSulfate
	qNitrate
	qFluoride
	qBicarbonate
	qHardness
	qAlkalinity
	qCarbonDioxide
	qSilica
	qHydrogenSulfide
	qIronDissolved
	qIronParticulate
	qIronTotal
	qManganeseDissolved
	qManganeseParticulate
	qManganese
	qMetals // iron and manganese together
	qFreeChlorine
	qChloramine
	qTurbidity
	qSuspendedSolids
	qTOC
	qTannin
	qOxygen
	qOxygenPerIron
	qTDS
	qCationLoad
	qAnionLoad
	qCarbonDioxideShare
	qSilicaShare
	numWaterQuantities

	qConductivity Quantity = iota - 1
	qColor
	qORP
	qNitrite
	qNitrateNitrite
	qArsenic
	qLead
	qCopper
	qZinc
	qUranium
	qRadium
	qRadon
	qGrossAlpha
	qSelenium
	qCadmium
	qChromium
	qMercury
	qAntimony
	qBeryllium
	qThallium
	qNickel
	qBoron
	qAluminum
	qPFOA
	qPFOS
	qPFAS
	qTotalChlorine
	qOxidizability
	qColiform
	qEColi
	qPlateCount
	qIronBacteria
	qSulfurSmell
	qTreatedSample
	qStripOnly
	qIronFormKnown
	qSampleAge
	qChargeBalance
	qHardnessMismatch
	qTDSRatio
	qConductivityRatio
	qImpossible

	qResinVolume
	qServiceFlow
	qBedDepth
	qSeasonVolume
	qFillVolume
	qFillMonths
	qRinsesPerFill
	qIronPerFill
	qManganesePerFill
	qSolidsPerFill
	qFeedPressure
	qPressureLeft
	qPeakFlow
	qWellFlow
	qIdleDays
	qResidueLimit
	qRegeneratedOnSite
	qExchanged
	qHomeRegeneration
	qTypeTwoAnion
	qChlorinated
	qPrivateWell
	qDrinkingUse
	qDrain
	qSeptic
	qPower
	qFreezing
	qOutdoors
	qClosedWellHouse
	qHotWater
	qSpray
	qMetalPiping
	qAcidDose
	qPumped
	qShockChlorination

	qNextIsMembrane
	qInstalled
	qStageFlux
	qStageLoading
	qContactTime
	qStageDrop
	qMembraneEnd
	qBackwashFlow
	qBackwashShort
	qRecovery
	qWastePerSeason
	qVariantAir
	qVariantChlorine
	qVariantPermanganate
	qVariantMagnesia
	qVariantTank
	qStageFirst // flags for the twelve kinds of stage, upstream then downstream
)

const (
	numKinds      = 12
	numQuantities = int(qStageFirst) + 2*numKinds
)

// kinds lists the kinds of stage in the order of their flags.
var kinds = [numKinds]process.Kind{
	process.SedimentFilter, process.Carbon, process.CatalyticCarbon, process.Aeration, process.OxidantFeed,
	process.OxidizingMediaFilter, process.Softener, process.AcidNeutralizer, process.Degasser,
	process.ReverseOsmosis, process.OrganicsTrap, process.Disinfection,
}

// upstream and downstream are the flags "a stage of this kind stands before"
// and "after" the place that is judged.
func upstream(kind int) Quantity   { return qStageFirst + Quantity(kind) }
func downstream(kind int) Quantity { return qStageFirst + Quantity(numKinds+kind) }

// measure tells what units a quantity may be compared in.
type measure uint8

const (
	concentration measure = iota // own unit mg/L of the analyte's own substance
	charge                       // meq/L
	acidity                      // pH units
	cloudiness                   // NTU
	colour                       // platinum-cobalt units
	potential                    // mV
	warmth                       // degrees Celsius
	conductivity                 // uS/cm
	activity                     // pCi/L
	count                        // colonies or most probable number in 100 mL
	perResin                     // g per litre of resin
	volume                       // L
	flow                         // L/min
	loading                      // bed volumes an hour
	velocity                     // m/h
	pressure                     // kPa
	depth                        // m
	percent                      // %
	minutes                      // min
	days                         // d
	months                       // months
	plain                        // a number without a unit
	yesNo                        // 1 it is so, 0 it is not
)

// scale turns a number in some unit into the quantity's own unit: x·mul + add.
type scale struct {
	unit     string
	mul, add float64
}

func (s scale) own(x float64) float64 { return x*s.mul + s.add }
func (s scale) in(x float64) float64  { return (x - s.add) / s.mul }

// scales lists the units of each measure; the first is its own. Factors from
// the exact definitions of gallon, foot, grain and pound (package unit);
// 1 psi = 6.894757 kPa, 1 bar = 100 kPa; 1 pCi = 0.037 Bq exactly.
var scales = map[measure][]scale{
	charge:       {{"meq/L", 1, 0}},
	acidity:      {{"pH", 1, 0}},
	cloudiness:   {{"NTU", 1, 0}},
	colour:       {{"CU", 1, 0}},
	potential:    {{"mV", 1, 0}},
	warmth:       {{"degC", 1, 0}, {"degF", 5.0 / 9, -160.0 / 9}},
	conductivity: {{"uS/cm", 1, 0}, {"mS/cm", 1000, 0}, {"mS/m", 10, 0}},
	activity:     {{"pCi/L", 1, 0}, {"Bq/L", 1 / 0.037, 0}},
	count:        {{"CFU/100mL", 1, 0}, {"MPN/100mL", 1, 0}, {"CFU/mL", 100, 0}},
	perResin:     {{"g/L", 1, 0}, {"g/ft3", 1 / 28.316846592, 0}},
	volume:       {{"L", 1, 0}, {"gal", 3.785411784, 0}, {"m3", 1000, 0}, {"ft3", 28.316846592, 0}},
	flow:         {{"L/min", 1, 0}, {"gpm", 3.785411784, 0}, {"m3/h", 1000.0 / 60, 0}},
	loading:      {{"BV/h", 1, 0}, {"gpm/ft3", 3.785411784 * 60 / 28.316846592, 0}},
	velocity:     {{"m/h", 1, 0}, {"gpm/ft2", 3.785411784 * 60 / 1000 / (0.3048 * 0.3048), 0}},
	pressure:     {{"kPa", 1, 0}, {"psi", 6.894757, 0}, {"bar", 100, 0}},
	depth:        {{"m", 1, 0}, {"cm", 0.01, 0}, {"in", 0.0254, 0}, {"ft", 0.3048, 0}},
	percent:      {{"%", 1, 0}},
	minutes:      {{"min", 1, 0}, {"s", 1.0 / 60, 0}, {"h", 60, 0}},
	days:         {{"d", 1, 0}},
	months:       {{"months", 1, 0}, {"years", 12, 0}},
	plain:        {{"1", 1, 0}},
}

// masses are the units of what is weighed but is no single substance.
var masses = map[unit.Unit]float64{unit.MgL: 1, unit.UgL: 1e-3, unit.NgL: 1e-6}

// weighed reports whether the quantity is a mass without a molar mass, such
// as tannin or suspended solids.
func (r *row) weighed() bool {
	return r.substance == "" || analyte.Must(r.substance).Formula == ""
}

// unitScale returns how a limit in the unit written, basis included ("mg/L
// as N"), turns into the quantity's own unit.
func (r *row) unitScale(written string) (scale, error) {
	if r.measure == yesNo {
		return scale{}, fmt.Errorf("%s is a yes or a no and has no unit", r.id)
	}
	if r.measure != concentration {
		for _, s := range scales[r.measure] {
			if s.unit == written {
				return s, nil
			}
		}
		return scale{}, fmt.Errorf("%s is not measured in %q", r.id, written)
	}
	name, basis, _ := strings.Cut(written, " as ")
	u, ok := unit.Parse(name)
	if !ok || string(u) != name {
		return scale{}, fmt.Errorf("%q is no unit of concentration", name)
	}
	mul, err := 0.0, error(nil)
	if r.weighed() {
		mul, ok = masses[u]
		if !ok || basis != "" {
			return scale{}, fmt.Errorf("%s is not measured in %q", r.id, written)
		}
		return scale{written, mul, 0}, nil
	}
	c, err := analyte.Must(r.substance).MgPerL(1, u, analyte.Basis(basis))
	if err != nil {
		return scale{}, err
	}
	return scale{written, float64(c), 0}, nil
}

// accepted names the units that a limit of this quantity may have.
func (r *row) accepted() string {
	switch r.measure {
	case yesNo:
		return "present: true or present: false"
	case concentration:
		all := []string{"mg/L", "ug/L", "ng/L"}
		if !r.weighed() {
			a := analyte.Must(r.substance)
			all = []string{"mg/L", "ug/L", "mmol/L"}
			if a.Loads != 0 {
				all = append(all, "meq/L", "mg/L as CaCO3")
			}
			if _, ok := a.Bases["N"]; ok {
				all = append(all, "mg/L as N")
			}
		}
		return orList(all)
	}
	var all []string
	for _, s := range scales[r.measure] {
		all = append(all, s.unit)
	}
	return orList(all)
}

// orList joins names as "a, b or c".
func orList(names []string) string {
	last := len(names) - 1
	if last < 1 {
		return strings.Join(names, "")
	}
	return strings.Join(names[:last], ", ") + " or " + names[last]
}
