package main

import (
	"fmt"
	"io"
	"maps"
	"math"
	"slices"
	"strings"

	"forebed/chem/analysis"
	"forebed/chem/analyte"
	"forebed/chem/unit"
	"forebed/chem/water"
)

// report is one set of figures that is kept while the rest is left out.
type report struct {
	name  string
	given []string
	pads  bool // read on the pads of a strip: as steps, not numbers
}

var reports = []report{
	{"strip read on pads: hardness, alkalinity, pH", []string{hardness, alkalinity, ph}, true},
	{"strip read on pads and pen: hardness, alkalinity, pH, EC", []string{hardness, alkalinity, ph, ec}, true},
	{"hardness, alkalinity, EC", []string{hardness, alkalinity, ec}, false},
	{"hardness, alkalinity, residue TDS", []string{hardness, alkalinity, tds}, false},
	{"strip and pen: hardness, alkalinity, EC, pH", []string{hardness, alkalinity, ec, ph}, false},
	{"hardness, alkalinity, residue TDS, pH", []string{hardness, alkalinity, tds, ph}, false},
	{"strip: hardness, alkalinity, pH", []string{hardness, alkalinity, ph}, false},
	{"short laboratory report: hardness, alkalinity, EC, pH, Fe, Mn, Cl, NO3", []string{hardness, alkalinity, ec, ph, fe, mn, cl, no3}, false},
	{"hardness, alkalinity", []string{hardness, alkalinity}, false},
	{"EC", []string{ec}, false},
	{"TDS", []string{tds}, false},
	{"hardness", []string{hardness}, false},
	{"hardness, alkalinity, EC, TDS, pH", []string{hardness, alkalinity, ec, tds, ph}, false},
	{"hardness, alkalinity, pH, Na", []string{hardness, alkalinity, ph, na}, false},
	{"hardness, alkalinity, pH, Cl, SO4", []string{hardness, alkalinity, ph, cl, so4}, false},
	{"full: Ca, Mg, Na, K, alkalinity, Cl, SO4, NO3, F, pH", []string{ca, mg, na, k, alkalinity, cl, so4, no3, fl, ph}, false},
	{"full with silica", []string{ca, mg, na, k, alkalinity, cl, so4, no3, fl, ph, sio2}, false},
}

// results names the analyte, unit, basis and fraction of each quantity.
var results = map[string]analysis.Result{
	ph: {Analyte: "ph", Unit: unit.PH, Note: "field"}, temp: {Analyte: "temperature", Unit: unit.DegC}, ec: {Analyte: "conductivity", Unit: unit.USCm},
	tds: {Analyte: "tds", Unit: unit.MgL}, hardness: {Analyte: "hardness", Unit: unit.MgL, Basis: "CaCO3"},
	alkalinity: {Analyte: "alkalinity", Unit: unit.MgL, Basis: "CaCO3"}, ca: {Analyte: "calcium", Unit: unit.MgL}, mg: {Analyte: "magnesium", Unit: unit.MgL},
	na: {Analyte: "sodium", Unit: unit.MgL}, k: {Analyte: "potassium", Unit: unit.MgL}, nh4: {Analyte: "ammonium", Unit: unit.MgL, Basis: "N"},
	fe: {Analyte: "iron", Unit: unit.MgL, Fraction: analysis.Total}, mn: {Analyte: "manganese", Unit: unit.MgL, Fraction: analysis.Total},
	cl: {Analyte: "chloride", Unit: unit.MgL}, so4: {Analyte: "sulfate", Unit: unit.MgL}, no3: {Analyte: "nitrate", Unit: unit.MgL, Basis: "N"},
	fl: {Analyte: "fluoride", Unit: unit.MgL}, sio2: {Analyte: "silica", Unit: unit.MgL, Basis: "SiO2"},
}

// value is a quantity of the well; hardness is that of its calcium and magnesium.
func (w *well) value(q string) (float64, bool) {
	if q == hardness {
		return 50.043 * (w.meq(ca) + w.meq(mg)), w.has(ca, mg)
	}
	v, ok := w.v[q]
	return v, ok
}

// pads are the steps of test strips, mg/L as CaCO3 and pH: common practice,
// ledger rows I-STRIP-HARD, I-STRIP-ALK and I-STRIP-PH.
var pads = map[string][]float64{
	hardness:   {0, 25, 50, 120, 250, 425},
	alkalinity: {0, 40, 80, 120, 180, 240},
	ph:         {6.2, 6.8, 7.2, 7.8, 8.4},
}

// onPad returns the interval that the pad shows for a value: half-way to the
// steps beside it, in the middle of the ratio above the first step that is not
// 0 (ledger row I-STRIP-INT); the last step has no upper end.
func onPad(q string, v float64) (low, high *float64) {
	steps := pads[q]
	middle := func(a, b float64) float64 {
		if a == 0 || q == ph {
			return (a + b) / 2
		}
		return math.Sqrt(a * b)
	}
	for i := range len(steps) - 1 {
		edge := middle(steps[i], steps[i+1])
		if v < edge {
			return low, &edge
		}
		low = &edge
	}
	return low, nil
}

// sample keeps the quantities of a well that the report gives, and the
// temperature where known.
func (w *well) sample(rep *report) (analysis.Sample, bool) {
	s := analysis.Sample{Label: w.site, Date: w.date}
	for _, q := range rep.given {
		v, ok := w.value(q)
		if !ok {
			return s, false
		}
		res := results[q]
		limit, nd := w.limit[q]
		switch {
		case nd:
			res.Nondetect, res.Limit = true, analysis.Number(limit)
		case rep.pads && pads[q] != nil:
			res.Low, res.High = onPad(q, v)
		default:
			res.Value = analysis.Number(v)
		}
		s.Results = append(s.Results, res)
	}
	if v, ok := w.v[temp]; ok {
		res := results[temp]
		res.Value = analysis.Number(v)
		s.Results = append(s.Results, res)
	}
	return s, true
}

// truth is what the whole analysis says: total equivalents as the mean of
// cations and anions, and the anion load with carbon dioxide from the same pH
// and silica where it was measured. ok is false where pH is missing.
func (w *well) truth() (total, load float64, ok bool) {
	c, a := w.totals()
	total = (c + a) / 2
	v, ok := w.v[ph]
	if !ok {
		return total, 0, false
	}
	t := 13.0
	if x, has := w.v[temp]; has {
		t = x
	}
	ionic := (total + w.meq(ca) + w.meq(mg) + w.meq(so4)) / 1000 // sum(z²c)/2: each divalent counts twice
	carbon, held := water.Speciate(v, unit.MeqPerL(w.meq(alkalinity)), 0, unit.Celsius(t), ionic)
	load = total + float64(carbon.CO2) + w.v[sio2]/analyte.Must("silica").MolarMass()
	return total, load, held
}

// score gathers how one report did for one quantity.
type score struct {
	errors []float64 // predicted/actual - 1
	inside int
	width  []float64 // (P90-P10)/(2·P50)
}

func (s *score) add(b water.Band, actual float64) {
	s.errors = append(s.errors, b.P50/actual-1)
	if b.P10 <= actual && actual <= b.P90 {
		s.inside++
	}
	s.width = append(s.width, (b.P90-b.P10)/2/b.P50)
}

// error returns the median size of the error, %.
func (s *score) error() float64 { return 100 * quantile(s.sizes(), 0.5) }

// share returns how many of the truths lay inside their band, %.
func (s *score) share() float64 { return 100 * float64(s.inside) / float64(len(s.errors)) }

func (s *score) sizes() []float64 {
	v := make([]float64, len(s.errors))
	for i, e := range s.errors {
		v[i] = math.Abs(e)
	}
	return v
}

func (s *score) String() string {
	sizes := s.sizes()
	return fmt.Sprintf("%4d  %+5.1f  %5.1f  %5.1f  %5.1f   %5.1f  %5.1f", len(s.errors), 100*quantile(s.errors, 0.5), s.error(),
		100*quantile(sizes, 0.75), 100*quantile(sizes, 0.9), s.share(), 100*quantile(s.width, 0.5))
}

func quantile(v []float64, p float64) float64 {
	s := slices.Sorted(slices.Values(v))
	x := p * float64(len(s)-1)
	i := int(x)
	if i+1 >= len(s) {
		return s[len(s)-1]
	}
	return s[i] + (x-float64(i))*(s[i+1]-s[i])
}

// study completes every site from every report and prints the scores.
func study(out io.Writer, sites []well, only string, o water.Options) error {
	fmt.Fprintln(out, "\n                           n   bias  |err|    p75    p90  inside  +-half   (all in %)")
	for i := range reports {
		rep := &reports[i]
		if !strings.Contains(rep.name, only) {
			continue
		}
		regions := map[string]*[2]score{}
		totals, loads, err := assess(rep, sites, o, regions)
		if err != nil {
			return err
		}
		fmt.Fprintln(out, rep.name)
		if len(totals.errors) == 0 {
			fmt.Fprintln(out, "  no site has these figures")
			continue
		}
		fmt.Fprintf(out, "  total cations         %s\n", totals)
		if len(loads.errors) > 0 {
			fmt.Fprintf(out, "  anion load            %s\n", loads)
		}
		for _, region := range slices.Sorted(maps.Keys(regions)) {
			r := regions[region]
			fmt.Fprintf(out, "    %-18s C %s\n", region, &r[0])
			if len(r[1].errors) > 0 {
				fmt.Fprintf(out, "    %-18s A %s\n", "", &r[1])
			}
		}
	}
	return nil
}

// assess completes every site that has the figures of a report. It scores
// total cations, and the anion load where pH was among the figures; regions,
// unless nil, receives the scores of each region.
func assess(rep *report, sites []well, o water.Options, regions map[string]*[2]score) (totals, loads *score, err error) {
	totals, loads = new(score), new(score)
	for i := range sites {
		w := &sites[i]
		s, ok := w.sample(rep)
		if !ok {
			continue
		}
		c, err := water.Complete(s, o)
		if err != nil {
			return nil, nil, fmt.Errorf("%s %s: %w", w.region, w.site, err)
		}
		region := new([2]score)
		if regions != nil {
			if regions[w.region] == nil {
				regions[w.region] = region
			}
			region = regions[w.region]
		}
		total, load, hasLoad := w.truth()
		b := bandOf(c.Draws, totalCations)
		totals.add(b, total)
		region[0].add(b, total)
		if !hasLoad || !slices.Contains(rep.given, ph) {
			continue
		}
		b = bandOf(c.Draws, func(d *water.Water) float64 {
			load := float64(d.Load().Anion)
			if !w.has(sio2) {
				load -= float64(d.Silica)
			}
			return load
		})
		loads.add(b, load)
		region[1].add(b, load)
	}
	return totals, loads, nil
}

// totalCations is what the whole analysis sums: without iron and manganese,
// which are partly particles in unfiltered samples.
func totalCations(w *water.Water) float64 {
	sum := 0.0
	for _, i := range []water.Ion{water.Calcium, water.Magnesium, water.Sodium, water.Potassium, water.Ammonium} {
		sum += float64(w.Equivalents(i))
	}
	return sum
}

func bandOf(draws []water.Water, f func(*water.Water) float64) water.Band {
	v := make([]float64, len(draws))
	for i := range draws {
		v[i] = f(&draws[i])
	}
	return water.Band{P10: quantile(v, 0.1), P50: quantile(v, 0.5), P90: quantile(v, 0.9)}
}
