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

// spellings lists every accepted spelling of a unit, folded (see Fold).
// Equal size only: ppm is mg/L because the waters here are dilute.
var spellings = map[Unit]string{
	MgL: `mg/l ppm p.p.m. partspermillion mg/dm3 mg/dm^3 g/m3 g/m^3 ug/ml mgl-1 mg.l-1 mg*l-1 mgl^-1 milligramsperliter milligramsperlitre milligramperliter milligramperlitre
		milligrams/liter milligrams/litre mgperl mgperliter mgperlitre mg/liter mg/litre mg/ltr mg/lt mg/lit mgs/l partspermil. mgm/l ppmw milligrammproliter milligrammparlitre
		parti/milione partesporm. mg.dm-3 g.m-3 gm-3 mgdm-3 gm/m3 mg/1l`,
	UgL: `ug/l ppb p.p.b. mcg/l ug/dm3 ug/dm^3 mg/m3 mg/m^3 ng/ml partsperbillion ug_l ugl-1 ug.l-1 microgramsperliter microgramsperlitre micrograms/liter micrograms/litre microg/l
		mikrogramm/l ug/liter ug/litre ugperl ug.dm-3 mikrog/l`,
	NgL:   "ng/l ppt pg/ml partspertrillion ng/dm3",
	GL:    "g/l g/dm3 kg/m3 gperl",
	MeqL:  `meq/l mg-eq/dm3 mg-eq/l mgeq/l mg-ekv/l mg-eq./l mg-eq./dm3 me/l epm e.p.m. mval/l mval/dm3 mval meq/dm3 milliequivalentsperliter milliequivalentsperlitre milliequiv/l mequiv/l meq.l-1 meql-1 m.e./l m.eq/l meqv/l mekv/l`,
	MmolL: "mmol/l mmol/dm3 mol/m3 mm mmol.l-1 mmoll-1 millimol/l millimoles/l mmole/l mmoles/l millimolesperliter",
	GrainsUS: `gpg grains/gal grain/gal gr/gal grainspergallon grainspergal grainpergallon grains/gallon grain/gallon grains grain gr g.p.g. grains/usgal grains/usgallon grainsperusgallon grainsperu.s.gallon
		gr./gal grs/gal gr/gallon gpg(us) usgpg gpgus grs grn grains/u.s.gal`,
	GrainsUK: `eh degclark clark clarkdegrees clarkdegree degreesclark degreeclark degdegclark dege degeh gpg(imp) gpgimp gpg(imperial) grains/impgal grains/imp.gal grainsperimperialgallon grainsperimp.gallon
		grains/imperialgallon englishdegrees degreesenglish gpg(uk) gr/impgal imperialgpg impgpg deg.clark`,
	DegGerman: `dh degdh deg.dh dgh dkh graderdh degd odh degreesgerman germandegrees degreesdh gradddh gradd degdkh degdgh degdgh graddeutscherhaerte graddeutscherharte deutschehaerte degduits
		stdh degduitsehardheid graderdh deg.d degn stn stopnieniemieckie deggh degkh grdh gr.dh`,
	DegFrench: "fh degf degfh deg.fh degreesfrench frenchdegrees df degreesfh deg.f degfr deg.fr frdeg degfrancais degfranz degfrench degtafr of gradifrancesi degfrancesi",
	USCm: `us/cm us/cm@25c us/cm@25degc us/cm@20c us/cm@20degc us/cm25c us/cmat25c us/cmat25degc us/cmat20c us/cmat20degc umho/cm umhos/cm umho/cm@25c umhos/cm@25c micromho/cm micromhos/cm umhos umho
		micromhos us micros/cm microsiemens/cm microsiemenspercm microsiemenspercentimeter microsiemenspercentimetre microsiemens/centimeter micromhospercentimeter microsiemens micromhospercm us.cm-1 uscm-1 usiemens/cm us/cm(25c) us/cm(25degc) mikros/cm mikrosiemens/cm umhos/cmat25c umhos/cm25c us/cm. u.s./cm umhos/cm. us/cmbei25degc`,
	MSCm: "ms/cm ds/m mmho/cm mmhos/cm mmhos mmho ds.m-1 dsm-1 dsm^-1 millisiemens/cm millimhos/cm decisiemens/m ms/cm@25c ds/m@25c ms.cm-1 millimhos",
	MSM:  "ms/m ms/m@25c ms/m(25degc) ms.m-1 millisiemens/m ms/mvid25degc ms/mvid20degc",
	PH:   "ph phunits phunit phunite unitph unitesph unidadph unidadesph unidadesdeph unitaph unitadiph phvalue ph-enheter ph-einheiten s.u. su stdunits standardunits std.units stdunit std.unit standardunit units",
	NTU:  "ntu ntus ut n.t.u. n.t.u ntuunits ntu's unt",
	FNU:  "fnu te/f zf zf(n) zfn zf(t) nfu unf ftu fte f.n.u. f.n.u fnu/ntu ntu/fnu fne",
	ColorUnits: `cu pcu tcu acu uh hazen degreeshazen deghazen hazenunits hazenunit hu mg/lpt mg/lpt/co mg/lpt-co mgpt/l mgpt/dm3 mg/lpt-coscale pt-co ptco pt/co pt-counits ptcounits pt/counits colorunits colourunits colorunit colourunit apcu
		cpu unitspt-co degplatino-cobalto uc mg/ptl ppmpt ppmpt-co`,
	DegC:      "degc c celsius degreesc degreescelsius degcelsius deg.c degcels gradc cdeg grc deg.cels",
	DegF:      "degf f fahrenheit degreesf degreesfahrenheit degfahrenheit deg.f",
	Millivolt: "mv millivolts millivolt",
	CFU100: `cfu/100ml cfu/100mls cfuper100ml kbe/100ml ufc/100ml jtk/100ml kve/100ml cfu/100cc kde/100ml no/100ml no./100ml n/100ml nr/100ml count/100ml counts/100ml col/100ml colonies/100ml coloniesper100ml col./100ml #/100ml /100ml per100ml
		pr100ml st/100ml antal/100ml number/100ml orgs/100ml organisms/100ml ufc/100cc cfu/dl aantal/100ml tuf/100ml n/(100ml) cfu/(100ml) in100ml /100mls cfu/100 kolonier/100ml pro100ml par100ml ppr100ml pmy/100ml`,
	MPN100:      "mpn/100ml mpn mpn/100mls nmp/100ml mpnper100ml mpn/100 npp/100ml mpn/100cc",
	CFU1:        "cfu/ml kbe/ml ufc/ml kve/ml jtk/ml cfu/1ml kbe/1ml ufc/1ml jtk/1ml col/ml colonies/ml cfu/cc per1ml antal/ml kim/ml /ml pr.ml cfuperml",
	Presence:    "presence p/a a/p present/absent presence/absence absent/present pos/neg absence/presence",
	PicocurieL:  "pci/l pc/l picocuries/l picocuriesperliter picocuries/liter",
	BecquerelL:  "bq/l bq/kg becquerel/l bq/dm3",
	Percent:     "% percent pct",
	PerMetre:    "1/m m-1 m^-1 1/m(436nm)",
	OdourNumber: "ton t.o.n.",
	Ratio:       "none ratio",
}

// damaged lists spellings that a scanner or a wrong encoding leaves of a
// unit. They are understood, but never without saying so.
var damaged = map[Unit]string{
	MgL:  "rng/l rng/i mgil mg/i mg/1 mg|l mg/| rngil nng/l mgjl rng/1 ing/l mq/l mg/[ rog/l mgfl m9/l mg1l",
	UgL:  "^g/l ?g/l ugil ug/1 ug/i u9/l lg/l jg/l g9/l ^g/i ?g/1 ug|l ltg/l ",
	USCm: "^s/cm ?s/cm ps/cm us/crn ^mhos/cm ?mhos/cm umhos/crn ^mho/cm us/cn us/c us/om pmhos/cm uslcm 5/cm ^s/crn l.s/cm",
	NTU:  "nfu. n7u nttj",
}

// bySpelling is the inverse of spellings; French degrees keep their own
// spellings because "degF" is Fahrenheit outside hardness (see ParseFor).
var bySpelling, byDamage = invert(spellings), invert(damaged)

func invert(table map[Unit]string) map[string]Unit {
	m := make(map[string]Unit)
	for u, all := range table {
		for _, s := range strings.Fields(all) {
			if u == DegFrench && (s == "degf" || s == "deg.f") {
				continue
			}
			m[s] = u
		}
	}
	return m
}

// Fold makes two spellings of a unit comparable: blanks out, letters lower,
// micro signs (U+00B5, U+03BC) to u, the degree sign to "deg".
func Fold(s string) string {
	if plain(s) {
		return s
	}
	var b strings.Builder
	b.Grow(len(s))
	for _, r := range s {
		switch r {
		case ' ', '\t', '\u00a0', '\u202f', '\u2009':
		case '\u00b5', '\u03bc':
			b.WriteByte('u')
		case '\u00b0', '\u00ba':
			b.WriteString("deg")
		case '\u00e9': // méq/L
			b.WriteByte('e')
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

// plain tells whether folding would leave s as it is.
func plain(s string) bool {
	for i := 0; i < len(s); i++ {
		if c := s[i]; c >= 0x80 || c == ' ' || c == '\t' || 'A' <= c && c <= 'Z' {
			return false
		}
	}
	return true
}

// ParseDamaged returns the unit that a scanner or a wrong encoding has made
// illegible in a known way ("rng/L", "^S/cm"). The caller must say that it
// was read so.
func ParseDamaged(s string) (Unit, bool) {
	u, ok := byDamage[Fold(s)]
	return u, ok
}

// Longest finds the longest spelling of a unit at the start of s that ends
// where a word may end. Single blanks inside a spelling do not count. It
// returns the number of bytes, 0 if no unit stands there, and whether the
// spelling is one of the damaged ones (see ParseDamaged).
func Longest(s string) (u Unit, damaged bool, n int) {
	node, i := 0, 0
	for i < len(s) {
		c, size := foldByte(s, i)
		if c == 0 { // a blank
			if i+size < len(s) && isBlank(s, i+size) {
				return u, damaged, n
			}
			i += size
			continue
		}
		if size == 2 && c == degreeSign {
			for _, d := range "deg" {
				if node = int(trie.next[edge{int32(node), byte(d)}]); node == 0 {
					return u, damaged, n
				}
			}
		} else if node = int(trie.next[edge{int32(node), c}]); node == 0 {
			return u, damaged, n
		}
		i += size
		if e := trie.ends[node]; e.unit != "" && endsWord(s, i) {
			u, damaged, n = e.unit, e.damaged, i
		}
	}
	return u, damaged, n
}

// endsWord tells whether a word may end before byte i.
func endsWord(s string, i int) bool {
	if i == len(s) {
		return true
	}
	switch c := s[i]; {
	case c == ' ', c == '\t', c == ',', c == ';', c == ')', c == '(', c == ']', c == '[', c == '|', c == '"', c == ':', c == '=', c == '<', c == '>', c == '\'':
		return true
	case c == '?', c == '!':
		return i > 0 // "4 mg/L??"
	case c == '.':
		return i+1 == len(s) || s[i+1] == ' ' || s[i+1] == '.' || s[i+1] == '\t' || s[i+1] == ')'
	}
	return isBlank(s, i)
}

func isBlank(s string, i int) bool {
	c := s[i]
	return c == ' ' || c == 0xc2 && i+1 < len(s) && s[i+1] == 0xa0 || c == 0xe2 && i+2 < len(s) && s[i+1] == 0x80 && (s[i+2] == 0xaf || s[i+2] == 0x89)
}

// degreeSign stands for the degree sign in foldByte.
const degreeSign = 1

// foldByte folds the character at byte i as Fold does and returns its bytes:
// 0 for a blank, degreeSign for a degree sign, 2 for one that no unit holds.
func foldByte(s string, i int) (c byte, size int) {
	c = s[i]
	switch {
	case c == ' ' || c == '\t':
		return 0, 1
	case 'A' <= c && c <= 'Z':
		return c + 'a' - 'A', 1
	case c < 0x80:
		return c, 1
	}
	if i+1 < len(s) {
		switch s[i : i+2] {
		case "\u00b5", "\u03bc":
			return 'u', 2
		case "\u00b0", "\u00ba":
			return degreeSign, 2
		case "\u00e9": // méq/L
			return 'e', 2
		case "\u00b3":
			return '3', 2
		case "\u00b2":
			return '2', 2
		case "\u00a0":
			return 0, 2
		}
	}
	if i+2 < len(s) {
		switch s[i : i+3] {
		case "\u207b", "\u2212":
			return '-', 3
		case "\u202f", "\u2009":
			return 0, 3
		}
	}
	return 2, 1
}

// edge is a step in the tree of all spellings.
type edge struct {
	node int32
	c    byte
}

type ending struct {
	unit    Unit
	damaged bool
}

// trie holds all spellings, so that Longest reads each byte once.
var trie = buildTrie()

func buildTrie() (t struct {
	next map[edge]int32
	ends map[int]ending
}) {
	t.next, t.ends = map[edge]int32{}, map[int]ending{}
	nodes := int32(0)
	put := func(spelling string, e ending) {
		node := int32(0)
		for i := 0; i < len(spelling); i++ {
			k := edge{node, spelling[i]}
			n, ok := t.next[k]
			if !ok {
				nodes++
				n = nodes
				t.next[k] = n
			}
			node = n
		}
		if old := t.ends[int(node)]; old.unit == "" || old.damaged {
			t.ends[int(node)] = e
		}
	}
	for s, u := range bySpelling {
		put(s, ending{u, false})
	}
	for s, u := range byDamage {
		put(s, ending{u, true})
	}
	return t
}

// Parse returns the unit that s spells, and whether it spells one. It knows
// unit words only: a basis ("as N") is not part of a Unit.
func Parse(s string) (Unit, bool) {
	u, ok := bySpelling[Fold(s)]
	return u, ok
}

// ParseHardness is Parse for a hardness or alkalinity, where a degree sign
// with F means French degrees, not Fahrenheit, and a bare D means German.
func ParseHardness(s string) (Unit, bool) {
	switch Fold(s) {
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
