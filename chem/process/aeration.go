package process

import (
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// aeration brings a water into contact with air: oxygen dissolves, carbon
// dioxide and hydrogen sulfide leave in part, and dissolved iron turns into
// floc at the rate of Stumm and Lee for as long as the detention lasts.
// Manganese stays: by air it is too slow below pH 9 (ledger E12, E-MN-AIR-PH).
type aeration struct {
	variant, title string
	minutes        Figure // detention at peak flow
	oxygen         Figure // share of air saturation that dissolved oxygen reaches
	strip          Figure // share of CO2 and of un-ionised H2S above equilibrium that leaves
	open           bool   // atmospheric tank, repumped
	facts          *Facts
}

var (
	detention = Figure{"detention", 30, 20, 30, "min", "detention ahead of a plain filter",
		Source{"E21", "Oklahoma OAC 252:626-9-7, (1)(B)(i)", Verified}}
	chamberMinutes = Figure{"air_chamber_minutes", 2, 1, 5, "min", "contact in a pressurised air chamber", practice}
	openOxygen     = Figure{"open_aeration_oxygen", 0.9, 0.7, 1, "share", "of air saturation, sprayed or bubbled open tank", practice}
	chamberOxygen  = Figure{"air_chamber_oxygen", 0.8, 0.5, 1, "share", "of air saturation at atmospheric pressure, air chamber", practice}
	openStrip      = Figure{"open_aeration_strip", 0.7, 0.4, 0.9, "share", "of CO2 and un-ionised H2S above equilibrium that leaves an open tank", practice}
	chamberStrip   = Figure{"air_chamber_strip", 0.1, 0, 0.3, "share", "of CO2 and un-ionised H2S that leaves with the vented air", practice}

	sulfideByAir = Figure{"sulfide_by_air", 2, 0, 2, "mg/L", "sulfide that aeration copes with",
		Source{"E72", "web note following extension advice", Verified}}

	// -d[Fe]/dt = k [Fe] [OH]^2 pO2
	ironRate = Figure{"iron_rate", 8e13, 0, 0, "L2 mol-2 atm-1 min-1", "oxidation of dissolved iron by air, 20 degC",
		Source{"E-FE-KIN E23", "Stumm and Lee 1961", FromMemory}}
	// At one pH warm water holds more OH, and the rate law has it squared.
	ironRateWarm = Figure{"iron_rate_warm", 4, 2, 5.4, "x", "rate for each 10 degC at one pH",
		Source{"E-FE-KIN", "Sung and Morgan 1980, Environ. Sci. Technol. 14, 561: 96 kJ/mol at one pH; the ledger: half for each 10 degC colder, or less; 5.4 is the square of the ion product of water", FromMemory}}
	airCO2 = Figure{"co2_air_equilibrium", 0.5, 0.5, 0.8, "mg/L", "CO2 in equilibrium with air at 25 degC; 0.8 at 10 degC",
		Source{"E71", "420 ppm", FromMemory}}
)

// kw20 is the ion product of water at 20 degC, at which the rate holds.
var kw20 = water.AcidsAt(20).Water

// OxygenSaturation returns the dissolved oxygen of water in equilibrium with
// moist air at one atmosphere, 0 to 40 degC, in mg/L. Source: Benson and
// Krause (1984), as Standard Methods 4500-O prints it; from memory, and held
// by a test against the printed 14.62, 11.29, 9.09 and 8.26 at 0, 10, 20 and
// 25 degC.
func OxygenSaturation(t unit.Celsius) unit.MgPerL {
	k := t.Kelvin()
	return unit.MgPerL(math.Exp(-139.34411 + (1.575701e5+(-6.642308e7+(1.243800e10-8.621949e11/k)/k)/k)/k))
}

// airEquilibrium returns the CO2 that stays in contact with air, in mg/L,
// between the two printed values on a log scale.
func airEquilibrium(t unit.Celsius) unit.MgPerL {
	return unit.MgPerL(airCO2.Value * math.Pow(airCO2.High/airCO2.Low, (25-float64(t))/15))
}

// unionised returns the share of sulfide that is H2S, which alone is a gas.
func unionised(w *water.Water) float64 {
	if w.Sulfide == 0 {
		return 1
	}
	return 1 / (1 + w.Acids().Sulfide/math.Pow(10, -w.PH))
}

// IronOxidized returns the share of dissolved iron that air oxidizes in so
// many minutes: 1 - exp(-k [OH]^2 pO2 t). Oxygen is a share of saturation. [OH] is
// that of 20 degC at this pH: its change with temperature is in ironRateWarm.
func IronOxidized(ph float64, t unit.Celsius, oxygen, minutes float64) float64 {
	oh := kw20 * math.Pow(10, ph)
	k := ironRate.Value * math.Pow(ironRateWarm.Value, (float64(t)-20)/10) * oh * oh * 0.21 * oxygen
	return 1 - math.Exp(-k*minutes)
}

const (
	aerationPH = iota
	aerationSulfide
	aerationTannin
)

func aerationFacts(lowest float64, needs Needs, claim string) *Facts {
	return &Facts{
		Windows: []Window{
			aerationPH: {PH, lowest, math.Inf(1), Reduced, "iron oxidizes a hundred times more slowly for each pH unit below",
				Source{"E23 E-AIR-GUIDE", "rate law Fe [OH]^2 pO2; treatment ledger section 5.3: pH above 7.2", Verified}},
			aerationSulfide: {Sulfide, math.Inf(-1), sulfideByAir.Value, Reduced, "more sulfide than air takes out", sulfideByAir.Source},
			aerationTannin:  {Tannin, math.Inf(-1), tanninMark.Value, Refuses, "iron bound to tannin does not oxidize: nothing is promised", Source{"E-TANNIN1 E-TANNIN2", "water-treatment dealer page; association FAQ", Verified}},
		},
		Protects: []Protection{{OxidizingMediaFilter, "want of oxygen", Source{"E20", "handbook treatment table: O2 at least 15 % of iron", Verified}}},
		Needs:    needs,
		Claim:    claim,
		Source:   Source{"E11 E12 E72 E-AER-PCT", "treatment ledger section 5; Elsheikh et al. 2016, J. Eng. Appl. Sci. 63(4) 277-292", Verified},
	}
}

var (
	aerationOpen = aeration{"open_tank", "open aeration tank, 30 min detention", detention, openOxygen, openStrip, true,
		aerationFacts(7.2, NeedsPower|NeedsFrostFree|NeedsIndoors|NeedsVentilation|NeedsTank,
			"adds oxygen, lets most CO2 and some sulfide go, turns dissolved iron into floc at neutral pH and above; manganese stays")}
	aerationChamber = aeration{"air_chamber", "pressurised air chamber", chamberMinutes, chamberOxygen, chamberStrip, false,
		aerationFacts(6.5, NeedsPower|NeedsFrostFree|NeedsVentilation,
			"adds oxygen for the filter behind it; little gas leaves and little iron reacts in it")}
)

func (a *aeration) Kind() Kind      { return Aeration }
func (a *aeration) Variant() string { return a.variant }
func (a *aeration) Title() string   { return a.title }
func (a *aeration) Facts() *Facts   { return a.facts }

// Apply strips, then oxidizes. The acid that iron frees lowers the pH on the
// way; the rate is taken at the mean of the pH before and after, the latter
// estimated from the shift of the CO2/HCO3 pair.
func (a *aeration) Apply(in *water.Water) (Outcome, error) {
	o := a.facts.enter(in)
	o.Notes |= ironNotes(in)
	w := &o.Out
	if a.open {
		o.Use.Energy = pumpEnergy(unit.PSI(repumpPressure.Value))
	}
	strip := unit.MmolPerL(a.strip.Value)
	gone := max(0, in.CO2-mmol(airEquilibrium(in.Temperature), molarCO2)) * strip
	w.Sulfide -= w.Sulfide * strip * unit.MmolPerL(unionised(in))
	if err := o.settle(a, in.TotalCarbon()-gone); err != nil {
		return o, err
	}
	// The rate is that of the oxygen which the air keeps up; what the iron takes
	// is missing from the water that leaves.
	saturation := OxygenSaturation(in.Temperature)
	w.Matter.Oxygen = max(w.Matter.Oxygen, saturation*unit.MgPerL(a.oxygen.Value))
	w.Matter.Unknown &^= water.UnknownOxygen
	if a.facts.refuses(o.Outside) || w.Ion[water.Iron] == 0 {
		return o, nil
	}
	acid := 2 * float64(w.Ion[water.Iron])
	before, dissolved := w.PH, float64(w.CO2)
	after := before
	if b := float64(w.Ion[water.Bicarbonate]); b > acid {
		after += math.Log10((b - acid) / b * dissolved / (dissolved + acid))
	} else {
		after = min(before, 4.5) // the alkalinity is used up and the reaction stops
	}
	oxygen := float64(w.Matter.Oxygen / saturation)
	share := IronOxidized((before+after)/2, in.Temperature, oxygen, a.minutes.Value)
	w.Matter.Oxygen -= w.Milligrams(water.Iron) * unit.MgPerL(share*oxygenPerIron)
	w.Matter.Oxygen = max(0, w.Matter.Oxygen)
	oxidize(w, share, 0)
	return o, o.settle(a, w.TotalCarbon())
}

func (a *aeration) Size(_ *water.Water, d Duty) Size {
	z := Size{Units: 1, Tank: unit.Litres(float64(d.PeakFlow) * a.minutes.Value), Feed: d, Repumped: a.open}
	if a.open {
		z.Class = tankClass(z.Tank)
		z.Text = volume(z.Tank) + " open tank with spray or bubbles, level switch and repump"
		z.Upkeep = []Upkeep{
			{Task: "clean sludge and spray nozzles out of the tank", Every: 6, Hours: 2, Trigger: "rust on the walls", Source: practice},
			{Task: "replace the repump", Every: 84, Hours: 2, Part: "repump", Parts: 1, Source: practice},
		}
		return z
	}
	z.Class = "air_chamber"
	z.Text = "10 x 54 in air chamber with air pump and vent"
	z.Drop = unit.PSI(valveDrop.Value)
	z.Upkeep = []Upkeep{
		{Task: "check air pump and vent", Every: 6, Hours: 0.5, Source: practice},
		{Task: "replace the air pump", Every: 60, Hours: 1, Part: "air_pump", Parts: 1, Source: practice},
	}
	return z
}

// tankClass returns the size class of an open tank, by volume in gallons.
func tankClass(v unit.Litres) string {
	for _, g := range [...]float64{30, 60, 120, 240, 500} {
		if v.Gallons() <= g {
			return fmt.Sprintf("open_tank_%ggal", g)
		}
	}
	return "open_tank_1000gal"
}
