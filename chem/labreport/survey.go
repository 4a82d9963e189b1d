package labreport

import (
	"strings"

	"forebed/chem/analyte"
)

// texture is what a report as a whole looks like.
type texture struct {
	other       int // words of documents about something else than water
	otherStrong int // ... that only stand in such documents
	otherName   string
	water       int // words about water
	utility     int // words of a public supply's annual report
	british     int // British spellings
	us          bool
	imperial    bool
	finals      int
	prelims     int
	program     int
	limitTables int
	bytes       bool // the source of a file, not its text
}

// otherDocuments are words of documents that share elements and units with a
// water analysis and are none. The strong ones stand nowhere else.
var otherDocuments = []struct {
	what   string
	strong string
	weak   string
}{
	{"a soil test", "soil test; soil analysis; soil sample; soil report; mehlich; bray p; olsen p; cation exchange capacity; cec meq; buffer ph; lime requirement; soil ph; soil type; topsoil; soil texture; bodenprobe; bodenanalyse; analyse de sol; soil fertility; base saturation; tons lime; soil lab; soil testing", "organic matter; lbs/acre; lb/acre; cec; fertilizer recommendation; crop; lime; plow; acre; loam; meq/100g; cmol; kg/ha"},
	{"a feed or forage analysis", "forage; hay; crude protein; dry matter; as fed; rfv; adf; ndf; silage; tdn; relative feed value; ration", "protein; fiber; moisture; bales; cut; stock"},
	{"a plant tissue analysis", "leaf tissue; plant tissue; tissue analysis; petiole; leaf analysis; sufficiency range; foliar", "deficient; sufficient; leaves"},
	{"a medical report", "serum; plasma; creatinine; hemoglobin; haemoglobin; glucose; blood; urine; patient; bilirubin; cholesterol; mmol/mol; egfr; blood test; hematocrit; albumin; triglycerides; leukocytes", "reference interval; reference; fasting; umol/l; mg/dl; physician; g/dl; u/l"},
	{"a compost or manure analysis", "compost; manure; c:n ratio; biosolids; digestate; slurry analysis", "moisture; wet basis; dry basis"},
	{"an alloy or steel certificate", "heat no; mill certificate; mill test; tensile; yield strength; alloy; weld; elongation; hardness hrc; rockwell; brinell; vickers; hb", "steel; wt%; grade"},
	{"a label of food", "nutrition facts; calories; kcal; energy kj; serving size; daily value; saturated fat; carbohydrate; dietary fiber; ingredients; per serving", "sugars; vitamin"},
	{"an oil analysis", "engine oil; oil analysis; viscosity cst; wear metals; oil hours; coolant analysis; lubricant", "silicon; fuel dilution; soot"},
	{"a fertilizer label", "guaranteed analysis; npk; nutrient solution; stock solution; stock a; stock b; hydroponic; hydroponics; fertigation; target ppm; water soluble nitrogen; derived from; slow release", "fertilizer; total nitrogen"},
	{"a list of things to buy", "shopping list; shopping; grocery; hardware store; store run; to buy; pick up; invoice; subtotal; total due; qty; unit price; add to cart; cart; order total; receipt total; sku; checkout; price list; in stock", "price; each; buy; bag; bags; bottle; bottles; pcs; pack; box; roll"},
	{"a paint, concrete or air test", "paint chip; wipe sample; indoor air; air quality; concrete; cement; asbestos; dust wipe; aqi; pm2.5; pm10; ozone; carbon monoxide; ambient air; particulate matter; nitrogen dioxide; sulfur dioxide", "ug/ft2; mg/kg; ug/m3; mg/m3"},
	{"a log of a pool", "bathers; bather load; cyanuric acid; pool temp; pool temperature; pool log; spa log; swimming pool; chlorine added; acid added; bromine level; number of swimmers", "pool; spa; hot tub; free chlorine; total chlorine; combined chlorine; backwash"},
	{"a wine, milk or beer analysis", "titratable acidity; brix; must weight; milk; butterfat; somatic cell; wort; original gravity; volatile acidity; free so2; sugar content; grape", "alcohol; ibu"},
	{"a recipe", "tsp; tbsp; teaspoon; tablespoon; cloves; garlic; peppercorns; simmer; ferment; preheat; oven; dough; flour; marinade; stir; recipe", "boil; salt; pour; mix; sugar; cups; cup; cool"},
	{"an exhaust or fuel analysis", "flash point; octane; cetane; fuel analysis", "sulphur content"},
}

// surveyed is how many bytes of a report are looked at to tell its kind.
const surveyed = 1 << 14

// survey looks at the report as a whole: what kind of document it is, in which
// spelling and language it is written.
func (r *reader) survey() {
	foreign, english := 0, 0
	var all strings.Builder
	n := 0
	for i := 0; i < r.real && n < surveyed; i++ {
		l := &r.lines[i]
		if l.blank {
			continue
		}
		f := analyte.Fold(l.text)
		n += len(f)
		all.WriteString(f)
		all.WriteByte('\n')
		for k := range r.items[i] {
			it := &r.items[i][k]
			if it.kind == itName && it.name.ID != "" && !it.symbol {
				if englishName(it.name.ID, it.fold) {
					english++
				} else {
					foreign++
				}
			}
		}
	}
	if foreign > english {
		r.style.foreign = true
	}
	r.text.look(all.String())
}

// look weighs the words of a folded text.
func (t *texture) look(s string) {
	first := firstWords(s)
	t.water = count(s, "water", "well ", "well,", " tap", "borehole", "bore ", "spring", "faucet", "brunnen", "wasser", "eau", "agua", "acqua", "woda", "brunn", "vatten", "puits", "drinking", "mg/l", "hardness", "alkalinity", "plumbing", "spigot", "bib")
	best := 0
	for _, d := range otherDocuments {
		strong, weak := words(s, d.strong, first), words(s, d.weak, first)
		if v := 3*strong + weak; v > best {
			best = v
			t.other, t.otherStrong, t.otherName = strong+weak, strong, d.what
		}
	}
	t.utility = count(s, "consumer confidence", "annual drinking water quality report", "annual water quality report", "water quality report for", "pws id", "pwsid", "public water system", "mclg", "regulated substances", "regulated contaminants", "90th percentile", "likely source", "violation", "monitoring period", "water works", "waterworks", "water utility", "our customers", "detected contaminants", "unregulated", "treatment technique", "water supply zone", "supply zone", "zone name", "sampling results", "your drinking water met", "number of samples", "samples failing", "% of samples", "% compliance", "entry point", "distribution system", "waterbedrijf", "pompstation", "drinkwaterkwaliteit", "drikkevandskvalitet", "dricksvattenkvalitet", "trinkwasserqualitat", "wasserwerk", "stadtwerke", "versorgungsgebiet", "versorgungszone", "unite de distribution", "running annual average", "water company", "customers", "municipal water", "town of", "city of", "wasserversorgung", "zweckverband", "vattenverk", "vandvaerk", "wodociagi", "acquedotto", "red de distribucion", "ecoles", "typical source", "major sources", "public supply")
	t.british = count(s, "colour", "aluminium", "sulphate", "litre", "hazen", "degrees clark", "imperial", "odour", "metre", "analysed", "£", "ontario", "canada", "alberta", "b.c.", "saskatchewan", "manitoba", "quebec", "new zealand", "ireland")
	t.us = strings.Contains(s, "us gal") || strings.Contains(s, "u.s. gal") || strings.Contains(s, "gpg (us)") || strings.Contains(s, "us gpg") || strings.Contains(s, "us grains")
	t.imperial = strings.Contains(s, "imperial") || strings.Contains(s, "imp gal") || strings.Contains(s, "imp. gal") || strings.Contains(s, "clark")
	t.bytes = strings.Contains(s, "endobj") || strings.Contains(s, "%pdf-") || strings.Contains(s, "flatedecode") || strings.Contains(s, "pk\x03\x04")
}

// surveyRows looks at rows of known cells as a whole.
func surveyRows(rows []row) *texture {
	var all strings.Builder
	for _, w := range rows {
		if all.Len() >= surveyed {
			break
		}
		all.WriteString(analyte.Fold(w.text))
		all.WriteByte('\n')
	}
	t := new(texture)
	t.look(all.String())
	return t
}

func englishName(id analyte.ID, fold string) bool {
	switch fold {
	case "ph", "calcium", "magnesium", "e", "uranium", "barium", "cadmium", "selenium", "lithium", "strontium", "ammonium", "nickel", "radon", "tds", "toc", "ec", "orp", "sar":
		return true
	case "nitrate", "nitrates", "sulfates", "nitrites", "sulfate", "nitrite", "sodium", "potassium", "fluoride":
		return true
	}
	a, _ := analyte.Lookup(id)
	first, _, _ := strings.Cut(analyte.Fold(a.Name), " ")
	if fold == first || strings.HasPrefix(first, fold) && len(fold) >= 4 {
		return true
	}
	switch fold {
	case "total", "iron", "hardness", "alkalinity", "sulphate", "aluminium", "colour", "color", "specific", "electrical", "solids", "conductance", "nitrogen", "dissolved", "hydrogen", "temp", "coliform", "coliforms", "turbidity", "silica", "odour", "odor", "smell", "chloride", "manganese", "bicarbonate", "carbonate", "copper", "lead", "zinc", "arsenic", "conductivity", "temperature", "free", "residual", "hard", "m", "p", "t", "clear", "ferrous", "ortho", "orthophosphate", "phosphorus", "chlorine", "ammonia":
		return true
	}
	return false
}

// count adds up how many of the texts occur.
func count(s string, texts ...string) int {
	n := 0
	for _, t := range texts {
		if strings.Contains(s, t) {
			n++
		}
	}
	return n
}

// firstWords collects the words of a text, to look for phrases only where
// their first word occurs.
func firstWords(s string) map[string]bool {
	m := make(map[string]bool, 256)
	for i := 0; i < len(s); {
		for i < len(s) && !isLetter(s[i]) {
			i++
		}
		j := i
		for j < len(s) && isLetter(s[j]) {
			j++
		}
		if j > i {
			m[s[i:j]] = true
		}
		i = j
	}
	return m
}

// words counts which of the phrases, separated by semicolons, occur as whole
// words.
func words(s, phrases string, first map[string]bool) int {
	n := 0
	for rest := phrases; rest != ""; {
		var p string
		p, rest, _ = strings.Cut(rest, ";")
		p = strings.TrimSpace(p)
		end := 0
		for end < len(p) && isLetter(p[end]) {
			end++
		}
		if end > 0 && !first[p[:end]] {
			continue
		}
		for from := 0; ; {
			k := strings.Index(s[from:], p)
			if k < 0 {
				break
			}
			k += from
			if (k == 0 || !isLetter(s[k-1])) && (k+len(p) == len(s) || !isLetter(s[k+len(p)])) {
				n++
				break
			}
			from = k + 1
		}
	}
	return n
}
