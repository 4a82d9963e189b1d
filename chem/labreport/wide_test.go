package labreport

import (
	"slices"
	"strings"
	"testing"
)

func TestNameCells(t *testing.T) {
	for cell, want := range map[string]string{
		"Iron, total (mg/L)":                                   "iron total mg/L",
		"Calcium, wf [mg/L] (00915)":                           "calcium dissolved mg/L",
		"ANC, wu, inflection pt,field [mg/L as CaCO3] (00419)": "alkalinity mg/L as CaCO3",
		"Nitrate, wf [mg/L as N] (00618)":                      "nitrate mg/L as N",
		"NO3_mg_l":                                             "nitrate mg/L",
		"Ca_mg_l":                                              "calcium mg/L",
		"temp_c":                                               "temperature degC",
		"Nitrate-N (mg/L)":                                     "nitrate mg/L as N",
		"Alkalinity, Total (as CaCO3)":                         "alkalinity  as CaCO3",
		"Nitrogen, Nitrate (NO3) as NO3 (mg/L)":                "nitrate mg/L as NO3",
		"Nitrate+Nitrite as N (mg/L)":                          "nitrate_nitrite mg/L as N",
		"Hardness, Ca + Mg (mg/L)":                             "hardness mg/L",
		"Hardness (mg/L CaCO3)":                                "hardness mg/L as CaCO3",
		"Total Dissolved Solids (TDS), Field (mg/L)":           "tds mg/L",
		"Specific Conductance (umhos/cm)":                      "conductivity uS/cm",
		"Specific Conductance @ 25C":                           "conductivity ",
		"ph_lab":                                               "ph pH",
		"Iron (dissolved)":                                     "iron dissolved ",
		"Silica (mg/L as SiO2)":                                "silica mg/L as SiO2",
		"well_depth_m":                                         "",
		"Chemical Oxygen Demand (COD) (mg/L)":                  "",
		"casing_length":                                        "",
		"charge_balance_error":                                 "",
		"screen_top_m":                                         "",
		"county":                                               "",
		"Comment":                                              "",
		"lead time":                                            "",
	} {
		got := ""
		if n, ok := readName(cell); ok {
			got = string(n.ID)
			if f := fractionOf("", n.Coded); f != "" {
				got += " " + string(f)
			}
			u := string(n.unit)
			if n.ID == "ph" {
				u = "pH"
			}
			got += " " + u
			if n.basis != "" {
				got += " as " + string(n.basis)
			}
		}
		if got != want {
			t.Errorf("%q: %q, want %q", cell, got, want)
		}
	}
}

func TestWideTables(t *testing.T) {
	for _, c := range []struct {
		name, text string
		want       []string
	}{
		{"units in the headings", "Point,Date,pH,Conductivity (uS/cm),\"Iron, total (mg/L)\",Nitrate-N (mg/L)\nBarn,2024-04-02,7.4,655,2.9,<0.1\nHouse,2024-04-02,7.5,660,,1.2\n",
			[]string{"ph 7.4 pH", "conductivity 655 uS/cm", "iron total 2.9 mg/L", "nitrate <0.1 mg/L as N", "ph 7.5 pH", "conductivity 660 uS/cm", "nitrate 1.2 mg/L as N"}},
		{"a row of units", "id,date,Na,Fe,NH4,SiO2,temp_field\n-,-,mg/L,µg/L,mg NH4/L,mg SiO2/L,°C\nw1,13-1-2000,19,120,0.05,10.6,10\n",
			[]string{"sodium 19 mg/L", "iron 120 ug/L", "ammonium 0.05 mg/L as NH4", "silica 10.6 mg/L as SiO2", "temperature 10 degC"}},
		{"decimal commas", "Probe;pH;Calcium (mg/l);Eisen (mg/l);Chlorid (mg/l)\nBrunnen 1;7,4;92,0;0,24;142\nBrunnen 2;7,1;88,5;<0,02;1.250\n",
			[]string{"ph 7.4 pH", "calcium 92 mg/L", "iron 0.24 mg/L", "chloride 142 mg/L", "ph 7.1 pH", "calcium 88.5 mg/L", "iron <0.02 mg/L", "chloride 1250 mg/L"}},
		{"remarks before numbers", "site,Iron [ug/L] (01046),Arsenic [ug/L] (01000),Calcium [mg/L] (00915)\nA,E 4.1,<2,40\n",
			[]string{"iron dissolved 4.1 ug/L !estimated_value", "arsenic dissolved <2 ug/L", "calcium dissolved 40 mg/L"}},
		{"limits among the samples", "site,Iron (mg/L),Calcium (mg/L),Chloride (mg/L)\nMCL,0.3,,250\nA,1.1,40,12\nReporting limit,0.02,0.1,1\nMean,1.1,40,12\nStandard Street dock,0.2,50,13\n",
			[]string{"iron 1.1 mg/L", "calcium 40 mg/L", "chloride 12 mg/L", "iron 0.2 mg/L", "calcium 50 mg/L", "chloride 13 mg/L"}},
		{"words", "site,Iron (mg/L),Calcium (mg/L),Chloride (mg/L)\nA,trace,40,12\n",
			[]string{"iron words mg/L !qualitative_only", "calcium 40 mg/L", "chloride 12 mg/L"}},
	} {
		r, err := Read([]byte(c.text), Options{})
		if err != nil {
			t.Errorf("%s: %v", c.name, err)
			continue
		}
		if got := briefly(r.Document); r.Format != "wide" || !slices.Equal(got, c.want) {
			t.Errorf("%s: %s\n%s\nwant\n%s", c.name, r.Format, strings.Join(got, "\n"), strings.Join(c.want, "\n"))
		}
	}
}

func TestDates(t *testing.T) {
	for dates, want := range map[string]string{
		"2024-06-05":              "2024-06-05",
		"2024-06-05 10:30":        "2024-06-05",
		"5.6.2024":                "2024-06-05",
		"5/6/2024":                "", // day or month first?
		"5/6/2024|13/6/2024":      "2024-06-05",
		"5/6/2024|5/30/2024":      "2024-05-06",
		"30/5/2024|5/30/2024":     "", // both: none can be trusted
		"13-1-2000":               "2000-01-13",
		"yesterday":               "",
		"99.99.2024":              "",
		"5/6/2024|31/31/2024":     "",
		"11/3/2011 13:30|5/15/11": "",
	} {
		all := strings.Split(dates, "|")
		var b strings.Builder
		b.WriteString("site,date,Iron (mg/L),Calcium (mg/L),Chloride (mg/L)\n")
		for _, d := range all {
			b.WriteString("A," + d + ",1,2,3\n")
		}
		r, err := Read([]byte(b.String()), Options{})
		if err != nil {
			t.Fatal(err)
		}
		if got := r.Document.Samples[0].Date; got != want {
			t.Errorf("%s: %q, want %q", dates, got, want)
		}
	}
}
