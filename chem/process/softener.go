package process

import (
	"fmt"
	"math"

	"forebed/chem/analyte"
	"forebed/chem/bed"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// softener is a cation exchanger in the sodium form: calcium and magnesium,
// and with them strontium, barium and ferrous iron and manganese, leave for
// sodium, equivalent for equivalent. Anions, silica, carbon dioxide and the
// load on a mixed bed stay what they were.
type softener struct {
	variant, title string
	salt           SaltSetting
	facts          *Facts
}

// SaltSetting is how much salt a softener is regenerated with, and what
// capacity that gives. The hardness that leaks follows from the salt and the
// strength of the water, see bed.SoftenerClosed.
type SaltSetting struct {
	Salt      float64 // lb of sodium chloride per ft3 of resin
	Capacity  float64 // kilograins as CaCO3 per ft3, trade habit: the default
	DataSheet float64 // the same from a resin data sheet at 500 mg/L; 0 if not printed
	Source    Source
}

// SaltSettings returns the settings, least salt first. Ledger E24 to E29 (all
// seen).
func SaltSettings() []SaltSetting { return append([]SaltSetting(nil), saltSettings[:]...) }

var saltSettings = [...]SaltSetting{
	{6, 20, 0, Source{"E28 E29", "utility/trade softener note; Ten States Standards sec. 4.4: 20 kgr/ft3 at 0.3 lb/kgr", Verified}},
	{7.5, 22, 25.4, Source{"E25", "manufacturer data sheet, gel strong-acid cation (name withheld); trade page 22.0", Verified}},
	{10, 25, 29.0, Source{"E26", "manufacturer data sheet, gel strong-acid cation (name withheld); trade page 25.0", Verified}},
	{15, 30, 33.0, Source{"E27", "manufacturer data sheet, gel strong-acid cation (name withheld); trade page 30.0", Verified}},
}

var (
	compensateIron = Figure{"compensate_iron", 4, 2, 5, "gpg per mg/L Fe", "hardness that iron counts for when a softener is sized: a penalty of regeneration, no load",
		Source{"E35", "softener notes and two appliance manuals: 2, 3 and 5 printed", Verified}}
	compensateManganese = Figure{"compensate_manganese", 2, 2, 4, "gpg per mg/L Mn", "the same for manganese",
		Source{"E36", "common practice", CommonPractice}}
	softenerIron = Figure{"softener_iron", 0.95, 0.5, 0.99, "share", "ferrous iron and manganese that a softener in good order takes", practice}
	softenerFloc = Figure{"softener_floc", 0.25, 0.25, 0.75, "share", "ferric iron that a softener strains",
		Source{"E-SOFT-FE3 D09", "resin-maker technical page (no name kept): 25-75 % typical", Verified}}
	softenerDrain = Figure{"softener_drain", 60, 30, 100, "gal/ft3", "water to the drain for each regeneration",
		Source{"E31", "trade sizing parameters: normal 50-75", Verified}}
	softenerDays = Figure{"softener_days", 3, 2, 7, "days of use", "shortest run between regenerations for which a softener is sized",
		Source{"C05 C17", "consumer water-quality guide; sizing note: 3 days", Verified}}
	saltBag      = Figure{"salt_bag", 40, 40, 50, "lb", "carried at a time", Source{"G04", "40 lb bag", CommonPractice}}
	softenerRest = Figure{"softener_rest", 14, 7, 28, "days", "longest run before a softener is regenerated anyway, against channels and slime", practice}
)

var softenerBed = medium{
	name: "softening resin", grain: 0.6e-3, void: 0.38, density: 0.83,
	service: Figure{"softener_service", 6, 4, 7, "gpm/ft2", "softening resin",
		Source{"E-10ST-2", "MIL-HDBK-1164 (UFC 3-230-02) 11.5.8.1 a: 6-7 gpm/ft2 (treatment ledger A26); Ten States maximum 7", Verified}},
	backwash: Figure{"softener_backwash", 6, 5, 8, "gpm/ft2", "softening resin",
		Source{"E32", "MIL-HDBK-1164 (UFC 3-230-02) 11.5.8.1 b", Verified}},
}

// mgPerGrain is one grain per US gallon in mg/L as CaCO3.
var mgPerGrain, _ = unit.GrainsUS.CaCO3()

// GrainsPerGallon returns a hardness in grains per US gallon.
func GrainsPerGallon(hardness unit.MgPerL) float64 { return float64(hardness) / mgPerGrain }

// CompensatedHardness returns the hardness in grains per gallon that a
// softener is sized and regenerated for, with the usual penalty for iron and
// manganese. It never enters the load on a bed: the true equivalents are
// 0.105 and 0.106 gpg per mg/L.
func CompensatedHardness(w *water.Water) float64 {
	return GrainsPerGallon(w.Hardness()) +
		compensateIron.Value*AnyIron.Of(w) + compensateManganese.Value*DissolvedManganese.Of(w)
}

// RunLength returns the water that an exchanger of a capacity in kilograins
// per ft3 treats between regenerations: kgr x 1000 x ft3 / gpg gallons.
// Ledger section 3.
func RunLength(resin unit.Litres, kilograins, gpg float64) unit.Litres {
	return unit.Gallons(kilograins * 1000 * resin.CubicFeet() / gpg)
}

// BypassShare returns the share of raw water to blend with fully softened
// water for a target hardness: target / raw (ledger C15: 100/245 is 40.8 %).
func BypassShare(raw, target unit.MgPerL) float64 {
	if raw <= target {
		return 1
	}
	return float64(target / raw)
}

// SodiumPerHardness is the sodium in mg that softening adds for each mg of
// hardness as CaCO3: 0.4594 (ledger E34).
func SodiumPerHardness() float64 {
	return analyte.Must("sodium").EquivalentWeight() / analyte.CaCO3Equivalent
}

const (
	softenerIronWindow = iota
	softenerFlocWindow
)

func softenerFacts(mostIron float64, ferrous bool) *Facts {
	f := &Facts{
		Windows: []Window{
			softenerIronWindow: {DissolvedIron, math.Inf(-1), mostIron, Fouls, "iron stays on the resin and takes its capacity", Source{"E37", "trade articles 2004, 2020: some areas fail at 2 ppm, others treat 20", Verified}},
			softenerFlocWindow: {FlocIron, math.Inf(-1), 0.3, Fouls, "ferric iron coats the beads, and most of it passes", Source{"E-SOFT-FE3", "resin-maker technical page (no name kept)", Verified}},
			{Turbidity, math.Inf(-1), 5, Fouls, "silt plugs the resin", Source{"D11 E-10ST-1", "Ten States Standards sec. 4.4", Verified}},
			{FreeChlorine, math.Inf(-1), 1, Damages, "chlorine cuts the crosslinks of the resin", Source{"D01 F-OX-SAC", "de Dardel ion-exchange notes, limits of oxidants (2010): 0.2 safe, up to 1.0", Verified}},
			{Temperature, 1, 50, Damages, "ice cracks tank and beads; heat ruins the valve", practice},
			{Hardness, math.Inf(-1), 860, Reduced, "above 50 gpg the leakage rises", practice},
			{Sulfide, math.Inf(-1), 0.3, Fouls, "sulfide makes iron sulfide in the bed", Source{"D17", "common practice", CommonPractice}},
		},
		Protects: []Protection{
			{ReverseOsmosis, "hardness that would scale the membrane", Source{"E65 E68", "residential RO manual (name withheld), table B: hardness below 10 gpg", Verified}},
		},
		Needs:  NeedsDrain | NeedsPower | NeedsFrostFree | NeedsSalt,
		Claim:  "puts sodium in the place of calcium and magnesium, equivalent for equivalent; the load on a mixed bed stays the same",
		Source: Source{"E34 F01", "simulation and stoichiometry", Computed},
	}
	if ferrous {
		f.Windows = append(f.Windows,
			Window{Oxygen, math.Inf(-1), 0.5, Fouls, "oxygen turns the iron ferric on the beads", Source{"E37", "trade articles 2004, 2020: low oxygen", Verified}},
			Window{PH, 5.5, 7.5, Fouls, "at higher pH iron oxidizes on the beads", Source{"E37", "trade articles 2004, 2020: pH below 7", Verified}})
		f.Protects = append(f.Protects, Protection{"", "ferrous iron that would coat the beads", Source{"E-SELECT2", "Virginia extension publication 356-481", Verified}})
		f.Claim = "takes ferrous iron and manganese with the hardness, before any air reaches them; the load on a mixed bed stays the same"
	}
	return f
}

var (
	softener6  = softener{"salt_6", "softener, 6 lb/ft3 of salt", saltSettings[0], softenerBed.rated(softenerFacts(1, false))}
	softener10 = softener{"salt_10", "softener, 10 lb/ft3 of salt", saltSettings[2], softenerBed.rated(softenerFacts(1, false))}
	softener15 = softener{"salt_15", "softener, 15 lb/ft3 of salt", saltSettings[3], softenerBed.rated(softenerFacts(1, false))}
	// Iron asks for more salt than hardness alone.
	softenerFerrous = softener{"ferrous", "softener for ferrous iron, 10 lb/ft3 of salt", saltSettings[2], softenerBed.rated(softenerFacts(5, true))}
)

func (s *softener) Kind() Kind      { return Softener }
func (s *softener) Variant() string { return s.variant }
func (s *softener) Title() string   { return s.title }
func (s *softener) Facts() *Facts   { return s.facts }

// hardnessIons are what the resin prefers to sodium; the metals come last.
var hardnessIons = [...]water.Ion{water.Calcium, water.Magnesium, water.Strontium, water.Barium, water.Iron, water.Manganese}

// leakage returns the hardness of the product.
func (s *softener) leakage(in *water.Water) unit.MgPerL {
	const total = 2 * unit.EquivalentPerLitre // of the resin; the leakage does not depend on it
	_, leakage := bed.SoftenerClosed(s.salt.Salt*bed.PoundsPerCubicFoot, total, in)
	return leakage
}

// Apply swaps equivalents, leaving the leakage of the salt setting.
func (s *softener) Apply(in *water.Water) (Outcome, error) {
	o := s.facts.enter(in)
	o.Notes |= ironNotes(in)
	w := &o.Out
	left := 1.0
	if h := in.Hardness(); h > 0 {
		left = float64(s.leakage(in) / h)
	}
	metalLeft := 1 - softenerIron.Value
	switch {
	case boundIron(in):
		metalLeft = 1
	case o.Outside.Has(softenerIronWindow) || o.Outside.Has(softenerFlocWindow):
		metalLeft = 1 - outsideShare.Value
	}
	for _, i := range hardnessIons {
		keep := unit.MmolPerL(left)
		if i == water.Iron || i == water.Manganese {
			keep = unit.MmolPerL(metalLeft)
		}
		w.Ion[water.Sodium] += 2 * in.Ion[i] * (1 - keep)
		w.Ion[i] *= keep
	}
	w.Matter.ParticulateIron *= unit.MgPerL(1 - softenerFloc.Value)
	// Cubic feet of resin regenerated for each litre of product.
	ft3 := CompensatedHardness(in) / litresPerGallon / (s.salt.Capacity * 1000)
	o.Use.Salt = ft3 * s.salt.Salt * gramsPerPound
	o.Use.Feed += ft3 * softenerDrain.Value * litresPerGallon
	return o, o.settle(s, in.TotalCarbon())
}

// tooHard says at which hardness of its product a softener has come to its end:
// 1 gpg, or twice what it lets through at its salt setting by design.
func (s *softener) tooHard(in *water.Water) string {
	leaks := GrainsPerGallon(s.leakage(in))
	if 2*leaks <= 1 {
		return "hardness above 1 gpg"
	}
	return fmt.Sprintf("hardness above %.2g gpg (%.2g gpg passes by design on this water)", 2*leaks, leaks)
}

func (s *softener) Size(in *water.Water, d Duty) Size {
	gpg := CompensatedHardness(in)
	run := d.day() * unit.Litres(softenerDays.Value)
	ft3 := run.Gallons() * gpg / (s.salt.Capacity * 1000)
	z := softenerBed.fill(d, in.Temperature, unit.CubicFeet(ft3))
	z.Interval = softenerRest.Value
	if gpg > 0 {
		z.Interval = min(z.Interval, float64(RunLength(z.Medium, s.salt.Capacity, gpg)/max(1e-9, d.day())))
	}
	// By the calendar it regenerates more often than the hardness asks for.
	regenerations := d.DaysInUse / z.Interval
	each := unit.Litres(softenerDrain.Value * litresPerGallon * z.Medium.CubicFeet())
	var byHardness float64
	if gpg > 0 {
		byHardness = float64(d.YearVolume / RunLength(z.Medium, s.salt.Capacity, gpg))
	}
	extra := max(0, regenerations-byHardness)
	z.Waste = each * unit.Litres(extra)
	z.Salt = unit.Pounds(s.salt.Salt * z.Medium.CubicFeet() * extra)
	z.Feed = d
	salt := s.salt.Salt * z.Medium.CubicFeet() * max(regenerations, byHardness) // lb a year
	z.Upkeep = []Upkeep{
		{Task: "carry salt", Every: 12 / max(1, math.Ceil(salt/saltBag.Value)), Hours: 0.2, Trigger: "salt below the water in the brine tank", Source: practice},
		{Task: "test hardness behind the softener", Every: 1, Hours: 0.1, Trigger: s.tooHard(in), Source: Source{"E33", "soft water limit 1 gpg; twice the computed leakage where that is more: common practice, no source", Verified}},
		{Task: "clean the brine tank and injector", Every: 12, Hours: 1, Source: practice},
		{Task: "replace the resin", Every: 120, Hours: 3, Part: "softening_resin", Parts: z.Medium.CubicFeet(), Source: Source{"", "treatment ledger A43: 1-5 % ageing a year, replace at 25 % loss", Verified}},
	}
	if s.variant == "ferrous" {
		z.Upkeep = append(z.Upkeep, Upkeep{Task: "clean the resin with a reducing resin cleaner", Every: 3, Hours: 0.5, Trigger: "iron behind the softener", Source: practice})
	}
	return z
}
