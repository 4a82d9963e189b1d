package analyte

import "strings"

// Coded is what a parameter code says: the analyte, its basis and fraction,
// and how the figure was come by, where that matters.
type Coded struct {
	Naming
	Note string
}

// ByParameterCode returns what a five-digit USGS parameter code measures. The
// codes tell apart what a characteristic name does not: filtered or not, the
// basis, a field or a laboratory value, a residue or a sum.
func ByParameterCode(code string) (Coded, bool) {
	c, ok := byParameterCode[code]
	return c, ok
}

var byParameterCode = func() map[string]Coded {
	m := map[string]Coded{}
	for _, row := range parameterCodes {
		for _, code := range strings.Fields(row.codes) {
			m[code] = Coded{row.naming, row.note}
		}
	}
	return m
}()

const (
	inField    = "measured in the field"
	inLab      = "measured in the laboratory"
	calculated = "calculated, not measured"
)

// parameterCodes are those of the USGS National Water Information System
// (source: USGS parameter code dictionary). The codes that stand in
// testdata/wells carry the dictionary's own description there, and a test
// holds this table against it; the others are from memory.
var parameterCodes = []struct {
	naming Naming
	note   string
	codes  string
}{
	{Naming{ID: "temperature"}, "", "00010 00011"},
	{Naming{ID: "turbidity"}, "", "00076 63675 63676 63680"},
	{Naming{ID: "color"}, "", "00080"},
	{Naming{ID: "orp"}, "", "00090"},
	{Naming{ID: "conductivity"}, "", "00095"},
	{Naming{ID: "conductivity"}, inField, "00094"},
	{Naming{ID: "conductivity"}, inLab, "90095"},
	{Naming{ID: "dissolved_oxygen"}, "", "00300"},
	{Naming{ID: "ph"}, inField, "00400"},
	{Naming{ID: "ph"}, inLab, "00403"},
	{Naming{ID: "carbon_dioxide"}, calculated + ", from pH and alkalinity", "00405"},
	{Naming{ID: "alkalinity", Basis: "CaCO3"}, inField, "00410 00419 39036 39086 29802"},
	{Naming{ID: "alkalinity", Basis: "CaCO3"}, inLab, "90410 29801"},
	{Naming{ID: "bicarbonate"}, inField, "00440 00453 29804"},
	{Naming{ID: "bicarbonate"}, inLab, "29805 90440"},
	{Naming{ID: "carbonate"}, inField, "00445 00452 29807"},
	{Naming{ID: "carbonate"}, inLab, "90445"},
	{Naming{ID: "hydroxide"}, inField, "71834"},
	{Naming{ID: "suspended_solids"}, "", "00530"},
	{Naming{ID: "ammonium", Basis: "N"}, "", "00608 00610"},
	{Naming{ID: "ammonium", Basis: "NH4"}, "", "71846"},
	{Naming{ID: "nitrite", Basis: "N"}, "", "00613 00615"},
	{Naming{ID: "nitrite", Basis: "NO2"}, "", "71856"},
	{Naming{ID: "nitrate", Basis: "N"}, "", "00618 00620"},
	{Naming{ID: "nitrate", Basis: "NO3"}, "", "71850 71851"},
	{Naming{ID: "nitrate_nitrite", Basis: "N"}, "", "00630 00631"},
	{Naming{ID: "phosphate", Basis: "PO4"}, "", "00660"},
	{Naming{ID: "phosphate", Basis: "P"}, "", "00671 70507"},
	{Naming{ID: "phosphorus", Basis: "P"}, "", "00665 00666 01072"},
	{Naming{ID: "toc"}, "", "00680"},
	{Naming{ID: "toc"}, "dissolved organic carbon", "00681"},
	{Naming{ID: "hydrogen_sulfide", Basis: "S"}, "", "00745"},
	{Naming{ID: "hydrogen_sulfide"}, "", "71875"},
	{Naming{ID: "hardness", Basis: "CaCO3"}, calculated + ", from calcium and magnesium", "00900"},
	{Naming{ID: "noncarbonate_hardness", Basis: "CaCO3"}, calculated, "00902 00904 95902"},
	{Naming{ID: "sar"}, calculated, "00931"},
	{Naming{ID: "calcium", Dissolved: true}, "", "00915"},
	{Naming{ID: "calcium", Total: true}, "", "00916"},
	{Naming{ID: "magnesium", Dissolved: true}, "", "00925"},
	{Naming{ID: "magnesium", Total: true}, "", "00927"},
	{Naming{ID: "sodium", Dissolved: true}, "", "00930"},
	{Naming{ID: "sodium", Total: true}, "", "00929"},
	{Naming{ID: "potassium", Dissolved: true}, "", "00935"},
	{Naming{ID: "potassium", Total: true}, "", "00937"},
	{Naming{ID: "chloride"}, "", "00940"},
	{Naming{ID: "sulfate"}, "", "00945"},
	{Naming{ID: "fluoride"}, "", "00950"},
	{Naming{ID: "bromide"}, "", "71870"},
	{Naming{ID: "silica", Basis: "SiO2"}, "", "00955"},
	{Naming{ID: "arsenic", Dissolved: true}, "", "01000"},
	{Naming{ID: "arsenic", Total: true}, "", "01002"},
	{Naming{ID: "barium", Dissolved: true}, "", "01005"},
	{Naming{ID: "barium", Total: true}, "", "01007"},
	{Naming{ID: "beryllium", Dissolved: true}, "", "01010"},
	{Naming{ID: "beryllium", Total: true}, "", "01012"},
	{Naming{ID: "boron", Dissolved: true}, "", "01020"},
	{Naming{ID: "boron", Total: true}, "", "01022"},
	{Naming{ID: "cadmium", Dissolved: true}, "", "01025"},
	{Naming{ID: "cadmium", Total: true}, "", "01027"},
	{Naming{ID: "chromium", Dissolved: true}, "", "01030"},
	{Naming{ID: "chromium", Total: true}, "", "01034"},
	{Naming{ID: "cobalt", Dissolved: true}, "", "01035"},
	{Naming{ID: "cobalt", Total: true}, "", "01037"},
	{Naming{ID: "copper", Dissolved: true}, "", "01040"},
	{Naming{ID: "copper", Total: true}, "", "01042"},
	{Naming{ID: "iron", Dissolved: true}, "", "01046"},
	{Naming{ID: "iron", Total: true}, "", "01045"},
	{Naming{ID: "lead", Dissolved: true}, "", "01049"},
	{Naming{ID: "lead", Total: true}, "", "01051"},
	{Naming{ID: "manganese", Dissolved: true}, "", "01056"},
	{Naming{ID: "manganese", Total: true}, "", "01055"},
	{Naming{ID: "thallium", Dissolved: true}, "", "01057"},
	{Naming{ID: "thallium", Total: true}, "", "01059"},
	{Naming{ID: "molybdenum", Dissolved: true}, "", "01060"},
	{Naming{ID: "molybdenum", Total: true}, "", "01062"},
	{Naming{ID: "nickel", Dissolved: true}, "", "01065"},
	{Naming{ID: "nickel", Total: true}, "", "01067"},
	{Naming{ID: "silver", Dissolved: true}, "", "01075"},
	{Naming{ID: "silver", Total: true}, "", "01077"},
	{Naming{ID: "strontium", Dissolved: true}, "", "01080"},
	{Naming{ID: "strontium", Total: true}, "", "01082"},
	{Naming{ID: "vanadium", Dissolved: true}, "", "01085"},
	{Naming{ID: "vanadium", Total: true}, "", "01087"},
	{Naming{ID: "zinc", Dissolved: true}, "", "01090"},
	{Naming{ID: "zinc", Total: true}, "", "01092"},
	{Naming{ID: "antimony", Dissolved: true}, "", "01095"},
	{Naming{ID: "antimony", Total: true}, "", "01097"},
	{Naming{ID: "aluminum", Dissolved: true}, "", "01106"},
	{Naming{ID: "aluminum", Total: true}, "", "01105"},
	{Naming{ID: "lithium", Dissolved: true}, "", "01130"},
	{Naming{ID: "lithium", Total: true}, "", "01132"},
	{Naming{ID: "selenium", Dissolved: true}, "", "01145"},
	{Naming{ID: "selenium", Total: true}, "", "01147"},
	{Naming{ID: "uranium", Dissolved: true}, "", "22703"},
	{Naming{ID: "uranium", Total: true}, "", "28011"},
	{Naming{ID: "mercury", Dissolved: true}, "", "50287 71890"},
	{Naming{ID: "mercury", Total: true}, "", "71900"},
	{Naming{ID: "total_coliform"}, "", "31501"},
	{Naming{ID: "e_coli"}, "", "31633 50468 90900"},
	{Naming{ID: "tds"}, "residue dried at 180 °C", "70300"},
	{Naming{ID: "tds"}, calculated + ", sum of constituents", "70301"},
	{Naming{ID: "tds"}, "", "70303"},
	{Naming{ID: "radon"}, "", "82303"},
}
