package labreport

import (
	"forebed/chem/analyte"
	"forebed/chem/unit"
)

// Bounds beyond which a figure cannot be natural water, or is so rare that a
// slip of the unit is likelier. Common practice, no source: they only decide
// whether to ask, never what a value is.
var (
	// impossibleAbove is in the unit named beside it.
	phLow, phHigh           = 0.0, 14.0
	celsiusLow, celsiusHigh = -3.0, 95.0
	oxygenHigh              = 30.0  // mg/L; saturation is 14.6 at 0 °C, 30 under pure oxygen pressure
	conductivityHigh        = 2.5e5 // uS/cm; saturated brine
	gramsHigh               = 4e5   // mg/L; saturated brine

	// likelyBelow, in mg/L of the substance as reported: above it a trace
	// constituent was probably reported in ug/L.
	likelyBelow = map[analyte.ID]float64{
		"lead": 1, "arsenic": 1, "uranium": 1, "cadmium": 0.1, "mercury": 0.02, "selenium": 1, "antimony": 0.1, "beryllium": 0.1, "thallium": 0.02, "silver": 0.5,
		"chromium": 1, "nickel": 2, "cobalt": 1, "molybdenum": 2, "vanadium": 1, "copper": 10, "zinc": 50, "manganese": 30, "iron": 150, "ferrous_iron": 150, "fluoride": 30, "barium": 10, "lithium": 10,
		"aluminum": 50, "strontium": 60, "boron": 60, "nitrite": 50,
	}
	// likelyAbove, in mg/L: a main constituent below it was probably reported
	// in mg/L under a heading of ug/L.
	likelyAbove = map[analyte.ID]float64{"calcium": 0.2, "sodium": 0.2, "chloride": 0.2, "sulfate": 0.1, "hardness": 0.5, "alkalinity": 0.5, "bicarbonate": 0.5, "magnesium": 0.05, "tds": 1}
)

// impossible tells whether no water can have this value.
func impossible(id analyte.ID, v float64, u unit.Unit) bool {
	switch id {
	case "ph":
		return v < phLow || v > phHigh
	case "temperature":
		if c, ok := u.Celsius(v); ok {
			return float64(c) < celsiusLow || float64(c) > celsiusHigh
		}
	case "dissolved_oxygen":
		return u == unit.MgL && v > oxygenHigh
	case "conductivity":
		c, ok := u.MicroSPerCm(v)
		return ok && float64(c) > conductivityHigh
	case "orp":
		return v < -1000 || v > 1500
	}
	mg, ok := milligrams(v, u)
	return ok && concentration(id) && mg > gramsHigh
}

// unlikely tells whether the unit is probably not the one that was meant.
func unlikely(id analyte.ID, v float64, u unit.Unit) bool {
	if u != "" && !compatible(id, u) && id != "ph" {
		return true
	}
	switch u {
	case unit.MSCm, unit.MSM, unit.USCm:
		c, _ := u.MicroSPerCm(v)
		return float64(c) > 1.2e5 || float64(c) < 1 && v != 0
	case unit.GrainsUS, unit.GrainsUK, unit.DegGerman:
		return v > 150
	case unit.DegFrench:
		return v > 300
	case unit.DegC:
		return v > 45 && v <= celsiusHigh
	}
	mg, ok := milligrams(v, u)
	if !ok {
		return false
	}
	if most, ok := likelyBelow[id]; ok && mg > most {
		return true
	}
	if least, ok := likelyAbove[id]; ok && (u == unit.UgL || u == unit.NgL) && mg < least && mg > 0 {
		return true
	}
	return false
}

func milligrams(v float64, u unit.Unit) (float64, bool) {
	switch u {
	case unit.MgL:
		return v, true
	case unit.UgL:
		return v / 1e3, true
	case unit.NgL:
		return v / 1e6, true
	case unit.GL:
		return v * 1e3, true
	}
	return 0, false
}
