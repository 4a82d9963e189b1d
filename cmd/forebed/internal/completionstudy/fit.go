package main

import (
	"encoding/json"
	"io"
	"math"
	"slices"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// The fitted statistics, in the shape of chem/water/priors.json.
type (
	row struct {
		N int        `json:"n"`
		Q [7]float64 `json:"q"`
	}
	ratio struct {
		N       int     `json:"n"`
		Ratio   float64 `json:"ratio"`
		Scale   float64 `json:"scale"`
		Freedom float64 `json:"freedom"`
	}
	fitted struct {
		Version      string                    `json:"version"`
		About        string                    `json:"about"`
		Sources      []string                  `json:"sources"`
		Levels       [7]float64                `json:"levels"`
		Regimes      map[string]map[string]row `json:"regimes"`
		DryShare     float64                   `json:"dry_share"`
		SoftExcess   [7]float64                `json:"soft_excess"`
		SoftAbout    string                    `json:"soft_excess_about"`
		Conductivity ratio                     `json:"conductivity"`
		Solids       ratio                     `json:"solids"`
		LaboratoryPH row                       `json:"laboratory_ph"`
	}
)

var probabilities = [7]float64{0.05, 0.10, 0.25, 0.50, 0.75, 0.90, 0.95}

// dryRegions are the regions of the dry West of the United States.
var dryRegions = []string{"Snake River Plain", "Utah", "Colorado Plateau"}

// fit derives the priors of the completion from one sample a site, and the
// difference between laboratory and field pH from all samples that have both.
func fit(out io.Writer, all, sites []well) error {
	f := fitted{
		Version: "forebed.priors/1",
		About: "Statistics of real wells that completion draws from. Made by: go run ./cmd/forebed/internal/completionstudy -fit FOLDER. " +
			"One sample a site with the six major ions, charge balance within 10 %, softened samples and blanks left out. " +
			"Quantiles at the levels given; n is the number of sites. Humid: Ohio, Indiana, Valley and Ridge, Netherlands; " +
			"dry: Snake River Plain, Utah, Colorado Plateau. Concentrations in meq/L (silica in mmol/L), pressure as log10 atm, temperature in degrees Celsius. " +
			"conductivity: measured over theory; solids: residue at 180 degrees Celsius over the sum of constituents with silica; " +
			"scale and freedom: of Student's t, on the logarithm.",
		Sources: []string{
			"U.S. Geological Survey: Snake River Plain (data package inldata 1.2.5), Colorado Plateau (Samples Data service), Valley and Ridge (doi 10.5066/P9J7I9DH); public domain",
			"KWR Water Research Institute: dune and polder profile, test data of the package hgc; MIT",
			"Ohio Environmental Protection Agency, Ambient Ground Water Quality Monitoring Program; aggregate statistics only",
			"Indiana Department of Environmental Management, statewide ground-water monitoring network; aggregate statistics only",
			"Utah Geological Survey, ground-water monitoring network; aggregate statistics only",
		},
		Levels:     probabilities,
		SoftExcess: [7]float64{0.05, 0.1, 0.25, 0.6, 1.3, 2.5, 4},
		SoftAbout:  "Soft acid wells of crystalline rock and coastal sand are not in the data. Judgement, no source: mineral anions may exceed hardness and alkalinity several times.",
		Regimes:    map[string]map[string]row{"humid": {}, "dry": {}},
	}
	for name, rows := range f.Regimes {
		for key, of := range shares {
			var v []float64
			for i := range sites {
				w := &sites[i]
				if slices.Contains(dryRegions, w.region) != (name == "dry") {
					continue
				}
				if x, ok := of(w); ok {
					v = append(v, x)
				}
			}
			rows[key] = rowOf(v)
		}
	}
	var measured, solids []float64
	dry := 0
	for i := range sites {
		w := &sites[i]
		if slices.Contains(dryRegions, w.region) {
			dry++
		}
		whole := w.water()
		if v, ok := w.v[ec]; ok {
			measured = append(measured, math.Log(v/float64(water.Conductivity(&whole))))
		}
		if v, ok := w.v[tds]; ok {
			if !w.has(sio2) {
				whole.Silica = 0.283 // 17 mg/L, well-statistics section 3
			}
			solids = append(solids, math.Log(v/float64(whole.Residue180())))
		}
	}
	f.DryShare = round(float64(dry) / float64(len(sites)))
	f.Conductivity, f.Solids = ratioOf(measured), ratioOf(solids)
	var lab []float64
	for i := range all {
		if w := &all[i]; w.has(ph, labPH) {
			lab = append(lab, w.v[labPH]-w.v[ph])
		}
	}
	f.LaboratoryPH = rowOf(lab)
	enc := json.NewEncoder(out)
	enc.SetIndent("", "\t")
	return enc.Encode(f)
}

// leastExcess is the least that sodium and potassium (or the mineral anions)
// make of the total: below it stands the error of the analysis, which the
// draws of hardness and alkalinity have already.
const leastExcess = 0.02

// poorInSodium parts the waters whose sulfate is that of gypsum from those
// whose chloride came with sodium, by sodium over chloride and sulfate.
const poorInSodium = 0.3

// shares are the rows of a regime: what is taken from one site, and whether
// the site has it.
var shares = map[string]func(w *well) (float64, bool){
	"excess": func(w *well) (float64, bool) {
		total, _, _ := w.truth()
		larger := max(w.meq(ca)+w.meq(mg), w.meq(alkalinity))
		return max(total/larger-1, leastExcess), true
	},
	"calcium":    func(w *well) (float64, bool) { return w.meq(ca) / (w.meq(ca) + w.meq(mg)), true },
	"hardness":   func(w *well) (float64, bool) { t, _, _ := w.truth(); return (w.meq(ca) + w.meq(mg)) / t, true },
	"alkalinity": func(w *well) (float64, bool) { t, _, _ := w.truth(); return w.meq(alkalinity) / t, true },
	"potassium":  func(w *well) (float64, bool) { t, _, _ := w.truth(); return w.meq(k) / t, w.has(k) },
	"chloride": func(w *well) (float64, bool) {
		sum := w.meq(cl) + w.meq(so4)
		return w.meq(cl) / sum, sum > 0.1 && w.meq(na) >= poorInSodium*sum
	},
	"chloride_poor": func(w *well) (float64, bool) {
		sum := w.meq(cl) + w.meq(so4)
		return w.meq(cl) / sum, sum > 0.1 && w.meq(na) < poorInSodium*sum
	},
	"nitrate":   func(w *well) (float64, bool) { return w.meq(no3), w.has(no3) },
	"fluoride":  func(w *well) (float64, bool) { return w.meq(fl), w.has(fl) },
	"ammonium":  func(w *well) (float64, bool) { return w.meq(nh4), w.has(nh4) },
	"silica":    func(w *well) (float64, bool) { return w.v[sio2] / 60.083, w.has(sio2) },
	"iron":      func(w *well) (float64, bool) { return w.v[fe] / 27.9225, w.has(fe) },
	"manganese": func(w *well) (float64, bool) { return w.v[mn] / 27.469, w.has(mn) },
	"total":     func(w *well) (float64, bool) { t, _, _ := w.truth(); return t, true },
	"temperature": func(w *well) (float64, bool) {
		return w.v[temp], w.has(temp)
	},
	"pressure": func(w *well) (float64, bool) {
		total, load, ok := w.truth()
		if !ok {
			return 0, false
		}
		co2 := load - total - w.v[sio2]/60.083
		t := 13.0
		if w.has(temp) {
			t = w.v[temp]
		}
		return math.Log10(co2 / 1000 / water.HenryCO2(unit.Celsius(t))), true
	},
}

// water is the whole analysis as a water, its alkalinity as bicarbonate.
func (w *well) water() water.Water {
	out := water.Water{Temperature: 13, PH: 7.5}
	if w.has(temp) {
		out.Temperature = unit.Celsius(w.v[temp])
	}
	if w.has(ph) {
		out.PH = w.v[ph]
	}
	for ion, q := range map[water.Ion]string{water.Calcium: ca, water.Magnesium: mg, water.Sodium: na, water.Potassium: k, water.Ammonium: nh4,
		water.Chloride: cl, water.Sulfate: so4, water.Nitrate: no3, water.Fluoride: fl, water.Bicarbonate: alkalinity} {
		out.Ion[ion] = unit.MmolPerL(w.meq(q) / math.Abs(ion.Charge()))
	}
	out.Silica = unit.MmolPerL(w.v[sio2] / 60.083)
	return out
}

func rowOf(v []float64) row {
	r := row{N: len(v)}
	for i, p := range probabilities {
		r.Q[i] = round(quantile(v, p))
	}
	return r
}

// students lists, by degrees of freedom, the 75 and 95 % points of Student's t
// (table of the distribution; 1.5 by interpolation).
var students = []struct{ freedom, upperQuartile, p95 float64 }{
	{1, 1.000, 6.314}, {1.5, 0.882, 3.95}, {2, 0.816, 2.920}, {3, 0.765, 2.353}, {5, 0.727, 2.015}, {10, 0.700, 1.812}, {30, 0.683, 1.697},
}

// ratioOf takes the median of logarithms, the degrees of freedom whose tails
// (5 to 95 % over the quartiles) are nearest, and the scale that gives their
// quartiles. A tenth is taken off the scale for the errors of the single
// results, which completion draws besides.
func ratioOf(logs []float64) ratio {
	quartiles := (quantile(logs, 0.75) - quantile(logs, 0.25)) / 2
	tails := (quantile(logs, 0.95) - quantile(logs, 0.05)) / 2 / quartiles
	best := students[0]
	for _, s := range students {
		if math.Abs(math.Log(s.p95/s.upperQuartile/tails)) < math.Abs(math.Log(best.p95/best.upperQuartile/tails)) {
			best = s
		}
	}
	return ratio{N: len(logs), Ratio: round(math.Exp(quantile(logs, 0.5))), Scale: round(0.9 * quartiles / best.upperQuartile), Freedom: best.freedom}
}

// round keeps three figures.
func round(v float64) float64 {
	if v == 0 {
		return 0
	}
	scale := math.Pow(10, 2-math.Floor(math.Log10(math.Abs(v))))
	return math.Round(v*scale) / scale
}
