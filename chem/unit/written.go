package unit

import "strings"

// Unit is a unit as a report states it, in the canonical spelling of the
// analysis document. The empty string means that none was stated.
type Unit string

// The canonical units of the analysis document.
const (
	None        Unit = ""
	MgL         Unit = "mg/L"
	UgL         Unit = "ug/L"
	NgL         Unit = "ng/L"
	GL          Unit = "g/L"
	MeqL        Unit = "meq/L"
	MmolL       Unit = "mmol/L"
	GrainsUS    Unit = "gpg" // grains per US gallon
	GrainsUK    Unit = "eH"  // grains per imperial gallon, degrees Clark
	DegGerman   Unit = "dH"  // 10 mg/L as CaO
	DegFrench   Unit = "fH"  // 10 mg/L as CaCO3
	USCm        Unit = "uS/cm"
	MSCm        Unit = "mS/cm"
	MSM         Unit = "mS/m"
	PH          Unit = "pH"
	NTU         Unit = "NTU"
	FNU         Unit = "FNU"
	ColorUnits  Unit = "CU" // platinum-cobalt colour units
	DegC        Unit = "degC"
	DegF        Unit = "degF"
	Millivolt   Unit = "mV"
	CFU100      Unit = "CFU/100mL"
	MPN100      Unit = "MPN/100mL"
	CFU1        Unit = "CFU/mL"
	Presence    Unit = "presence" // 1 present, 0 absent
	PicocurieL  Unit = "pCi/L"
	BecquerelL  Unit = "Bq/L"
	Percent     Unit = "%"
	PerMetre    Unit = "1/m"
	OdourNumber Unit = "TON"
	Ratio       Unit = "none"
)

// spellings lists every accepted spelling of a unit, folded (see fold).
// Equal size only: ppm is mg/L because the waters here are dilute.
var spellings = map[Unit]string{
	MgL:         "mg/l ppm p.p.m. partspermillion mg/dm3 mg/dm^3 g/m3 g/m^3 ug/ml mgl-1 mg.l-1 milligramsperliter milligramsperlitre milligrams/liter milligrams/litre mgperl mgperliter",
	UgL:         "ug/l ppb mcg/l ug/dm3 ug/dm^3 mg/m3 ng/ml partsperbillion ug_l ugl-1 microgramsperliter micrograms/liter",
	NgL:         "ng/l ppt pg/ml partspertrillion",
	GL:          "g/l g/dm3",
	MeqL:        "meq/l me/l epm e.p.m. mval/l mval/dm3 meq/dm3 milliequivalentsperliter",
	MmolL:       "mmol/l mmol/dm3 mol/m3 mm",
	GrainsUS:    "gpg grains/gal grain/gal gr/gal grainspergallon grains/gallon grains grain gr g.p.g. grains/usgal grains/usgallon",
	GrainsUK:    "eh degclark clark clarkdegrees degreesclark dege gpg(imp) gpgimp grains/impgal grainsperimperialgallon",
	DegGerman:   "dh degdh deg.dh dgh dkh graderdh degd odh degreesgerman gradddh gradd degdkh degdgh",
	DegFrench:   "fh degf degfh degf.h deg.f degreesfrench df",
	USCm:        "us/cm us/cm@25c us/cm25c umho/cm umhos/cm micromho/cm micromhos/cm umhos micromhos us micros/cm microsiemens/cm",
	MSCm:        "ms/cm ds/m mmho/cm mmhos/cm",
	MSM:         "ms/m",
	PH:          "ph phunits phunit s.u. su stdunits standardunits std.units stdunit units",
	NTU:         "ntu ftu ntus",
	FNU:         "fnu nfu fte",
	ColorUnits:  "cu pcu tcu hazen degreeshazen deghazen mg/lpt mg/lpt/co mg/lpt-co pt-co ptco colorunits colourunits apcu",
	DegC:        "degc c celsius degreesc",
	DegF:        "degf f fahrenheit degreesf",
	Millivolt:   "mv millivolts",
	CFU100:      "cfu/100ml kbe/100ml ufc/100ml jtk/100ml no/100ml count/100ml col/100ml colonies/100ml #/100ml /100ml per100ml",
	MPN100:      "mpn/100ml mpn",
	CFU1:        "cfu/ml kbe/ml ufc/ml",
	Presence:    "presence p/a a/p present/absent presence/absence",
	PicocurieL:  "pci/l",
	BecquerelL:  "bq/l",
	Percent:     "% percent",
	PerMetre:    "1/m m-1",
	OdourNumber: "ton",
	Ratio:       "none ratio",
}

// bySpelling is the inverse of spellings; French degrees keep their own
// spellings because "degF" is Fahrenheit outside hardness (see ParseFor).
var bySpelling = invert()

func invert() map[string]Unit {
	m := make(map[string]Unit)
	for u, all := range spellings {
		for _, s := range strings.Fields(all) {
			if u == DegFrench && (s == "degf" || s == "deg.f") {
				continue
			}
			m[s] = u
		}
	}
	return m
}

// fold makes two spellings of a unit comparable: blanks out, letters lower,
// micro signs (U+00B5, U+03BC) to u, the degree sign to "deg".
func fold(s string) string {
	var b strings.Builder
	b.Grow(len(s))
	for _, r := range s {
		switch r {
		case ' ', '\t', '\u00a0', '\u202f', '\u2009':
		case '\u00b5', '\u03bc':
			b.WriteByte('u')
		case '\u00b0', '\u00ba':
			b.WriteString("deg")
		case '\u00b3':
			b.WriteByte('3')
		case '\u00b2':
			b.WriteByte('2')
		case '\u207b', '\u2212':
			b.WriteByte('-')
		default:
			if 'A' <= r && r <= 'Z' {
				r += 'a' - 'A'
			}
			b.WriteRune(r)
		}
	}
	return b.String()
}

// Parse returns the unit that s spells, and whether it spells one. It knows
// unit words only: a basis ("as N") is not part of a Unit.
func Parse(s string) (Unit, bool) {
	u, ok := bySpelling[fold(s)]
	return u, ok
}

// ParseHardness is Parse for a hardness or alkalinity, where a degree sign
// with F means French degrees, not Fahrenheit, and a bare D means German.
func ParseHardness(s string) (Unit, bool) {
	switch fold(s) {
	case "f", "degf", "deg.f":
		return DegFrench, true
	case "d", "degd", "deg":
		return DegGerman, true
	}
	return Parse(s)
}

// CaCO3 returns the factor that turns one of a hardness unit into mg/L as
// CaCO3, and whether u is a hardness unit. US grain 17.1181 and imperial
// grain 14.2538 from the exact grain and gallons; a German degree is 10 mg/L
// as CaO (17.848 as CaCO3), a French degree 10 mg/L as CaCO3.
func (u Unit) CaCO3() (float64, bool) {
	switch u {
	case GrainsUS:
		return milligramsPerGrain / litresPerGallon, true
	case GrainsUK:
		return milligramsPerGrain / litresPerImperialGallon, true
	case DegGerman:
		return 10 * molarCaCO3 / molarCaO, true
	case DegFrench:
		return 10, true
	}
	return 0, false
}

const (
	milligramsPerGrain      = 64.79891 // exact
	litresPerImperialGallon = 4.54609  // exact
	molarCaCO3              = 100.086  // g/mol, AW21
	molarCaO                = 56.077   // g/mol, AW21
)

// MicroSPerCm turns a reported conductivity into uS/cm, and tells whether u
// is a unit of conductivity. The reference temperature is the caller's.
func (u Unit) MicroSPerCm(v float64) (MicroSPerCm, bool) {
	switch u {
	case USCm:
		return MicroSPerCm(v), true
	case MSCm:
		return MicroSPerCm(v * 1000), true
	case MSM:
		return MicroSPerCm(v * 10), true
	}
	return 0, false
}

// Celsius turns a reported temperature into degrees Celsius, and tells
// whether u is a unit of temperature.
func (u Unit) Celsius(v float64) (Celsius, bool) {
	switch u {
	case DegC:
		return Celsius(v), true
	case DegF:
		return Celsius((v - 32) * 5 / 9), true
	}
	return 0, false
}
