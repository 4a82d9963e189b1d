package main

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io/fs"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strconv"
	"strings"
)

// The quantities of a well, by the name used here. Concentrations are mg/L
// of the substance; hardness and alkalinity as CaCO3, nitrate and ammonium as
// N; iron and manganese in mg/L.
const (
	ph         = "ph"
	labPH      = "ph_lab"
	temp       = "temperature"
	ec         = "ec"
	tds        = "tds"
	hardness   = "hardness"
	alkalinity = "alkalinity"
	ca, mg     = "ca", "mg"
	na, k      = "na", "k"
	nh4        = "nh4"
	fe, mn     = "fe", "mn"
	cl, so4    = "cl", "so4"
	no3, fl    = "no3", "f"
	sio2       = "sio2"
)

// well is one sample of one site.
type well struct {
	region, site, date string
	v                  map[string]float64 // measured; half the limit for a non-detect
	limit              map[string]float64 // of the non-detects
}

// wells reads every table of a folder that it knows, and says which it found.
func wells(dir string) ([]well, []string, error) {
	var all []well
	var found []string
	for _, f := range []struct {
		name string
		read func(rows [][]string) []well
	}{
		{"ohio_epa_wells_wide.csv", ohio},
		{"indiana_idem_wells_narrow.csv", indiana},
		{"usgs_inl_snake_river_plain_wide.csv", snakeRiver},
		{"utah_ugs_wqx_export_narrow.csv", utah},
		{"usgs_wqx3_colorado_plateau_narrow.csv", coloradoPlateau},
		{"small/usgs_nawqa_valley_ridge_carbonate_wide.csv", valleyRidge},
		{"small/nl_dune_polder_profile_wide.csv", dunes},
	} {
		path := filepath.Join(dir, filepath.FromSlash(f.name))
		if _, err := os.Stat(path); errors.Is(err, fs.ErrNotExist) {
			path = filepath.Join(dir, filepath.Base(f.name)) // a flat folder
		}
		rows, err := readCSV(path)
		if errors.Is(err, fs.ErrNotExist) {
			continue
		}
		if err != nil {
			return nil, nil, err
		}
		found = append(found, filepath.Base(f.name))
		all = append(all, f.read(rows)...)
	}
	if len(found) == 0 {
		return nil, nil, fmt.Errorf("%s: found none of the tables of well analyses", dir)
	}
	return all, found, nil
}

func readCSV(path string) ([][]string, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	r := csv.NewReader(f)
	r.FieldsPerRecord = -1
	r.LazyQuotes = true
	return r.ReadAll()
}

// put stores a written value: a number, or "<limit", times a factor to the
// unit used here. A leading E (estimated) is dropped. The first value wins.
func (w *well) put(q, s string, factor float64) {
	s = strings.TrimSpace(strings.TrimPrefix(strings.TrimSpace(s), "E"))
	if _, done := w.v[q]; done || s == "" {
		return
	}
	if rest, less := strings.CutPrefix(s, "<"); less {
		if v, err := strconv.ParseFloat(strings.TrimSpace(rest), 64); err == nil {
			w.v[q], w.limit[q] = factor*v/2, factor*v
		}
		return
	}
	if v, err := strconv.ParseFloat(s, 64); err == nil && v >= 0 {
		w.v[q] = factor * v
	}
}

func newWell(region, site, date string) *well {
	return &well{region: region, site: site, date: date, v: map[string]float64{}, limit: map[string]float64{}}
}

// column is where a wide table holds a quantity.
type column struct {
	head   string
	q      string
	factor float64
}

// wide reads a table of one sample a row.
func wide(region string, rows [][]string, site, date string, isoDate func(string) string, columns []column) []well {
	at := map[string]int{}
	for i, h := range rows[0] {
		at[h] = i
	}
	var out []well
	for _, rec := range rows[1:] {
		w := newWell(region, rec[at[site]], isoDate(rec[at[date]]))
		for _, c := range columns {
			if i, ok := at[c.head]; ok && i < len(rec) {
				w.put(c.q, rec[i], c.factor)
			}
		}
		out = append(out, *w)
	}
	return out
}

func asIs(s string) string { return s }

// monthFirst turns "11/3/2011 13:30" into 2011-11-03; dayFirst 13-1-2000 into 2000-01-13.
func monthFirst(s string) string {
	var m, d, y int
	if n, _ := fmt.Sscanf(s, "%d/%d/%d", &m, &d, &y); n != 3 {
		return s
	}
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d)
}

func dayFirst(s string) string {
	var m, d, y int
	if n, _ := fmt.Sscanf(s, "%d-%d-%d", &d, &m, &y); n != 3 {
		return s
	}
	return fmt.Sprintf("%04d-%02d-%02d", y, m, d)
}

func ohio(rows [][]string) []well {
	return wide("Ohio", rows, "well_id", "collection_timestamp", monthFirst, []column{
		{"pH (su)", ph, 1}, {"Temperature, water (deg C)", temp, 1}, {"Specific Conductance (umhos/cm)", ec, 1}, {"Specific conductance (umhos/cm)", ec, 1},
		{"Total Dissolved Solids (mg/L)", tds, 1}, {"Hardness, Ca + Mg (mg/L)", hardness, 1}, {"Alkalinity, Total (mg/L)", alkalinity, 1},
		{"Calcium (mg/L)", ca, 1}, {"Magnesium (mg/L)", mg, 1}, {"Sodium (mg/L)", na, 1}, {"Potassium (mg/L)", k, 1}, {"Iron (ug/L)", fe, 1e-3},
		{"Manganese (ug/L)", mn, 1e-3}, {"Ammonia (mg/L)", nh4, 1}, {"Chloride (mg/L)", cl, 1}, {"Sulfate (mg/L)", so4, 1},
		{"Nitrate+Nitrite as N (mg/L)", no3, 1}, {"Fluoride (mg/L)", fl, 1}})
}

func snakeRiver(rows [][]string) []well {
	return wide("Snake River Plain", rows, "site_no", "sample_dt", asIs, []column{
		{"pH [std units] (00400)", ph, 1}, {"pH, wu, lab [std units] (00403)", labPH, 1}, {"Temperature, water [deg C] (00010)", temp, 1},
		{"Specific cond at 25C [uS/cm @25C] (00095)", ec, 1}, {"SpecCond,wu25degCLab [uS/cm @25C] (90095)", ec, 1},
		{"Hardness, water [mg/L as CaCO3] (00900)", hardness, 1}, {"ANC, wu, inflection pt,field [mg/L as CaCO3] (00419)", alkalinity, 1},
		{"ANC, wu,fxdEP,lab [mg/L as CaCO3] (90410)", alkalinity, 1}, {"Calcium, wf [mg/L] (00915)", ca, 1}, {"Magnesium, wf [mg/L] (00925)", mg, 1},
		{"Sodium, wf [mg/L] (00930)", na, 1}, {"Potassium, wf [mg/L] (00935)", k, 1}, {"Iron, wf [ug/L] (01046)", fe, 1e-3},
		{"Manganese, wf [ug/L] (01056)", mn, 1e-3}, {"Ammonia, wf [mg/L as N] (00608)", nh4, 1}, {"Chloride, wf [mg/L] (00940)", cl, 1},
		{"Sulfate, wf [mg/L] (00945)", so4, 1}, {"NO3+NO2, wf [mg/L as N] (00631)", no3, 1}, {"Nitrate, wf [mg/L as N] (00618)", no3, 1},
		{"Fluoride, wf [mg/L] (00950)", fl, 1}, {"Silica, wf [mg/L] (00955)", sio2, 1}})
}

func valleyRidge(rows [][]string) []well {
	return wide("Valley and Ridge", rows, "site_id", "sample_date", asIs, []column{
		{"pH", ph, 1}, {"EC", ec, 1}, {"TDS", tds, 1}, {"temp_c", temp, 1}, {"Ca_mg_l", ca, 1}, {"Mg_mg_l", mg, 1}, {"Na_mg_l", na, 1}, {"K_mg_l", k, 1},
		{"HCO3_mg_l", alkalinity, 50.043 / 61.016}, {"Cl_mg_l", cl, 1}, {"SO4_mg_l", so4, 1}, {"F_mg_l", fl, 1}, {"NO3_mg_l", no3, 1}})
}

// dunes is the profile of the Netherlands, whose second line holds the units
// and whose conductivity is taken as a 20 °C value (EC25/EC20 = 1.116).
func dunes(rows [][]string) []well {
	rows = slices.Delete(slices.Clone(rows), 1, 2)
	return wide("NL", rows, "id", "date", dayFirst, []column{
		{"ph_field", ph, 1}, {"ph_lab", labPH, 1}, {"temp_field", temp, 1}, {"ec_lab", ec, 1.116}, {"alkalinity", alkalinity, 50.043 / 61.016},
		{"Na", na, 1}, {"K", k, 1}, {"Ca", ca, 1}, {"Mg", mg, 1}, {"Fe", fe, 1}, {"Mn", mn, 1}, {"NH4", nh4, 14.007 / 18.039}, {"SiO2", sio2, 1},
		{"Cl", cl, 1}, {"SO4", so4, 1}, {"NO3", no3, 14.007 / 62.004}, {"F", fl, 1}})
}

// narrow gathers a table of one result a row; add puts one row into its well.
func narrow(region string, rows [][]string, add func(rec func(string) string, w *well), key func(rec func(string) string) (site, date string, ok bool)) []well {
	at := map[string]int{}
	for i, h := range rows[0] {
		at[h] = i
	}
	byKey := map[string]*well{}
	var order []string
	for _, r := range rows[1:] {
		rec := func(name string) string {
			if i, ok := at[name]; ok && i < len(r) {
				return r[i]
			}
			return ""
		}
		site, date, ok := key(rec)
		if !ok {
			continue
		}
		id := site + "\x00" + date
		w := byKey[id]
		if w == nil {
			w = newWell(region, site, date)
			byKey[id] = w
			order = append(order, id)
		}
		add(rec, w)
	}
	var out []well
	for _, id := range order {
		out = append(out, *byKey[id])
	}
	return out
}

func indiana(rows [][]string) []well {
	names := map[string]column{
		"Calcium": {"", ca, 1}, "Magnesium": {"", mg, 1}, "Sodium": {"", na, 1}, "Potassium": {"", k, 1}, "Iron": {"", fe, 1},
		"Alkalinity": {"", alkalinity, 1}, "Chloride": {"", cl, 1}, "Sulfate": {"", so4, 1}, "Silica": {"", sio2, 1}, "Silicon": {"", sio2, 2.139},
	}
	return narrow("Indiana", rows, func(rec func(string) string, w *well) {
		name := rec("Analyte")
		c, ok := names[strings.TrimSuffix(strings.SplitN(name, ",", 2)[0], " (as CaCO3)")]
		switch lower := strings.ToLower(name); {
		case ok:
		case strings.Contains(lower, "alkalinity"):
			c = column{"", alkalinity, 1}
		case strings.Contains(lower, "nitrate"):
			c = column{"", no3, 1}
		case lower == "silica, total":
			c = column{"", sio2, 1}
		default:
			return
		}
		if strings.HasPrefix(strings.ToLower(rec("Unit")), "ug") {
			c.factor /= 1000
		}
		v := rec("Result")
		if strings.EqualFold(v, "BDL") {
			v = "<" + rec("DetectionLimit")
		}
		w.put(c.q, v, c.factor)
	}, func(rec func(string) string) (string, string, bool) {
		return rec("SiteID"), rec("SampleDate") + " " + rec("SampleID"), true
	})
}

func utah(rows [][]string) []well {
	names := map[string]string{"pH": ph, "Temperature, water": temp, "Specific conductance": ec, "Conductivity": ec, "Total dissolved solids": tds,
		"Alkalinity, total": alkalinity, "Calcium": ca, "Magnesium": mg, "Sodium": na, "Potassium": k, "Iron": fe, "Manganese": mn, "Chloride": cl,
		"Sulfate": so4, "Nitrate": no3, "Ammonia": nh4, "Fluoride": fl, "Silica": sio2, "Alkalinity": alkalinity, "Inorganic nitrogen (nitrate and nitrite)": no3}
	return narrow("Utah", rows, func(rec func(string) string, w *well) {
		q, ok := names[rec("Characteristic")]
		if !ok {
			return
		}
		v := rec("Value")
		if v == "" && rec("Detection Condition") != "" {
			v = "0" // the publisher gives no limit
		}
		w.put(q, v, 1)
	}, func(rec func(string) string) (string, string, bool) {
		return rec("Monitoring Location ID"), rec("Activity Start Date"), true
	})
}

// coloradoPlateau tells the results of one name apart by parameter code.
func coloradoPlateau(rows [][]string) []well {
	codes := map[string]column{
		"00400": {"", ph, 1}, "00403": {"", labPH, 1}, "00010": {"", temp, 1}, "00095": {"", ec, 1}, "90095": {"", ec, 1}, "70300": {"", tds, 1},
		"00900": {"", hardness, 1}, "00915": {"", ca, 1}, "00925": {"", mg, 1}, "00930": {"", na, 1}, "00935": {"", k, 1}, "01046": {"", fe, 1e-3},
		"01056": {"", mn, 1e-3}, "00608": {"", nh4, 1}, "00940": {"", cl, 1}, "00945": {"", so4, 1}, "00631": {"", no3, 1}, "00618": {"", no3, 1},
		"00620": {"", no3, 1}, "71851": {"", no3, 1 / 4.4266}, "71850": {"", no3, 1 / 4.4266}, "00950": {"", fl, 1}, "00955": {"", sio2, 1},
		"00410": {"", alkalinity, 1}, "00419": {"", alkalinity, 1}, "90410": {"", alkalinity, 1}, "39086": {"", alkalinity, 1}, "29801": {"", alkalinity, 1},
		"39036": {"", alkalinity, 1}, "00933": {"", "na+k", 1}, "00440": {"", "hco3", 50.043 / 61.016}, "00453": {"", "hco3", 50.043 / 61.016},
	}
	all := narrow("Colorado Plateau", rows, func(rec func(string) string, w *well) {
		c, ok := codes[rec("USGSpcode")]
		if !ok {
			return
		}
		v := rec("Result_Measure")
		if v == "" && rec("Result_ResultDetectionCondition") == "Not Detected" {
			v = "0"
			if l := rec("DetectionLimit_MeasureA"); l != "" {
				v = "<" + l
			}
		}
		w.put(c.q, v, c.factor)
	}, func(rec func(string) string) (string, string, bool) {
		return rec("Location_Identifier"), rec("Activity_StartDate") + " " + rec("Activity_StartTime"), true
	})
	for _, w := range all { // old samples: bicarbonate, and sodium with potassium
		for stand, q := range map[string]string{"hco3": alkalinity, "na+k": na} {
			if v, ok := w.v[stand]; ok && !w.has(q) {
				w.v[q] = v
			}
		}
	}
	return all
}

// equivalent weights, mg/meq (well-statistics section 1).
var equivalent = map[string]float64{ca: 20.039, mg: 12.1525, na: 22.990, k: 39.098, nh4: 14.007, alkalinity: 50.043, cl: 35.45, so4: 48.028, no3: 14.007, fl: 18.998}

func (w *well) meq(q string) float64 { return w.v[q] / equivalent[q] }

func (w *well) has(qs ...string) bool {
	for _, q := range qs {
		if _, ok := w.v[q]; !ok {
			return false
		}
	}
	return true
}

// totals returns the sums of cations and anions in meq/L.
func (w *well) totals() (cations, anions float64) {
	for _, q := range []string{ca, mg, na, k, nh4} {
		cations += w.meq(q)
	}
	for _, q := range []string{alkalinity, cl, so4, no3, fl} {
		anions += w.meq(q)
	}
	return cations, anions
}

// chargeError is 100 (C-A)/(C+A) in percent.
func (w *well) chargeError() float64 {
	c, a := w.totals()
	return 100 * (c - a) / (c + a)
}

// softened is true behind a softener: hardness below 17 mg/L as CaCO3 with
// sodium above 90 % of the cations.
func (w *well) softened() bool {
	c, _ := w.totals()
	return 50.043*(w.meq(ca)+w.meq(mg)) < 17 && w.meq(na) > 0.9*c
}

// blank is true of a field blank: next to nothing in it.
func (w *well) blank() bool {
	c, a := w.totals()
	return c < 0.05 || a < 0.05
}

// onePerSite keeps the latest of the most complete samples of each site that
// has the six major ions, closes within 10 % and is neither softened nor blank.
func onePerSite(all []well) []well {
	best := map[string]well{}
	for _, w := range all {
		if !w.has(ca, mg, na, alkalinity, cl, so4) || w.softened() || w.blank() || !(math.Abs(w.chargeError()) <= 10) {
			continue
		}
		key := w.region + "\x00" + w.site
		old, ok := best[key]
		if !ok || w.complete() > old.complete() || w.complete() == old.complete() && w.date > old.date {
			best[key] = w
		}
	}
	keys := make([]string, 0, len(best))
	for key := range best {
		keys = append(keys, key)
	}
	slices.Sort(keys)
	out := make([]well, 0, len(keys))
	for _, key := range keys {
		out = append(out, best[key])
	}
	return out
}

// complete counts what decides on the choice among a site's samples.
func (w *well) complete() int {
	n := 0
	for _, q := range []string{k, no3, fl, ph, ec, tds, sio2, fe, mn, nh4, temp} {
		if w.has(q) {
			n++
		}
	}
	return n
}
