package bed

import (
	"math"
	"math/rand/v2"

	"pgregory.net/rapid"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// reverseOsmosis carries a water through a membrane that rejects a share of
// every ion and 88 % of the silica and lets carbon dioxide pass (treatment
// ledger section 6); degassed leaves so many mg/L of CO2 afterwards, if less.
func reverseOsmosis(w water.Water, rejection float64) water.Water {
	for i := range w.Ion {
		w.Ion[i] *= unit.MmolPerL(1 - rejection)
	}
	w.Silica *= 0.12
	return w
}

func degassed(w water.Water, mgL float64) water.Water {
	w.CO2 = min(w.CO2, unit.MmolPerL(mgL/44.009))
	return w
}

// uniform draws a number between two others; the name is for messages.
type uniform func(name string, low, high float64) float64

// byRapid looks for the worst numbers, bySeed for ordinary ones.
func byRapid(t *rapid.T) uniform {
	return func(name string, low, high float64) float64 { return rapid.Float64Range(low, high).Draw(t, name) }
}

func bySeed(rng *rand.Rand) uniform {
	return func(_ string, low, high float64) float64 { return low + (high-low)*rng.Float64() }
}

// drawWater draws a balanced well water of 1 to 15 meq/L, hard or sodium-rich,
// with 2 to 60 mg/L of silica, in two cases of five after reverse osmosis and
// in one of those degassed as well. alkaline is the least share of the cations
// that bicarbonate balances.
func drawWater(draw uniform, alkaline float64) water.Water {
	logRange := func(name string, low, high float64) float64 { return low * math.Exp(draw(name, 0, math.Log(high/low))) }
	share := func(name string) float64 { return draw(name, 0, 1) }
	total, hard := logRange("cations", 1, 15), share("hard")
	var w water.Water
	w.Temperature = 10
	w.Ion[water.Calcium] = unit.MmolPerL(total * hard * 0.7 / 2)
	w.Ion[water.Magnesium] = unit.MmolPerL(total * hard * 0.3 / 2)
	w.Ion[water.Sodium] = unit.MmolPerL(total * (1 - hard) * 0.95)
	w.Ion[water.Potassium] = unit.MmolPerL(total * (1 - hard) * 0.05)
	alkalinity := total * draw("alkalinity", alkaline, 0.95)
	strong, sulfate, nitrate := total-alkalinity, share("sulfate"), 0.3*share("nitrate")
	w.Ion[water.Sulfate] = unit.MmolPerL(strong * sulfate * (1 - nitrate) / 2)
	w.Ion[water.Chloride] = unit.MmolPerL(strong * (1 - sulfate) * (1 - nitrate))
	w.Ion[water.Nitrate] = unit.MmolPerL(strong * nitrate)
	w.Ion[water.Bicarbonate] = unit.MmolPerL(alkalinity)
	w.PH = draw("pH", 6.3, 8.3)
	w.CO2 = unit.MmolPerL(alkalinity * math.Pow(10, 6.46-w.PH)) // pK1 at 10 degC, ledger 1.3
	w.Silica = unit.MmolPerL(logRange("silica", 2, 60) / 60.084)
	if share("membrane") < 0.4 {
		w = reverseOsmosis(w, draw("rejection", 0.9, 0.98))
		if share("degasser") < 0.5 {
			w = degassed(w, 5)
		}
	}
	return w
}

// drawVessel draws a tank of 0.3 to 3 ft3 of new resin at 1 to 3.5 gpm/ft3 and
// 5 to 25 degC; ok tells whether its transfer units are those for which the
// closed form is held to the cells.
func drawVessel(draw uniform) (v Vessel, s Service, ok bool) {
	v = NewVessel(unit.CubicFeet(0.3 * math.Exp(draw("resin", 0, 2.3))))
	v.CationShare = draw("cation share", 0.35, 0.5)
	v.AnionCapacity = unit.EqPerL(draw("anion capacity", 0.9, 1.1))
	v.Conversion = Halves{Cation: 0.99, Anion: draw("conversion", 0.9, 0.99)}
	s = Service{
		Flow:        unit.GallonsPerMinute(v.Resin.CubicFeet() * draw("gpm/ft3", 1, 3.5)),
		Temperature: unit.Celsius(draw("temperature", 5, 25)),
	}
	nf := v.TransferUnits(s)
	return v, s, min(nf.Cation, nf.Anion) >= fewUnits && max(nf.Cation, nf.Anion) <= manyUnits
}
