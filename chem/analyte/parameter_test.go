package analyte

import (
	"encoding/csv"
	"os"
	"strings"
	"testing"
)

// TestParameterCodes holds the table of codes against the dictionary's own
// descriptions, which stand beside the codes in open data of the USGS
// (testdata/wells): analyte, basis and fraction must agree.
func TestParameterCodes(t *testing.T) {
	f, err := os.Open("../../testdata/wells/usgs_wqx3_colorado_plateau_narrow.csv")
	if err != nil {
		t.Fatal(err)
	}
	defer f.Close()
	rows, err := csv.NewReader(f).ReadAll()
	if err != nil {
		t.Fatal(err)
	}
	column := map[string]int{}
	for i, h := range rows[0] {
		column[h] = i
	}
	seen := map[string]bool{}
	for _, r := range rows[1:] {
		code, name, text, as := r[column["USGSpcode"]], r[column["Result_Characteristic"]], r[column["Result_CharacteristicUserSupplied"]], r[column["Result_MethodSpeciation"]]
		c, ok := ByParameterCode(code)
		if !ok || seen[code] {
			continue
		}
		seen[code] = true
		if n, ok := ByName(name); ok && n.ID != c.ID {
			t.Errorf("%s is %s, its characteristic %q means %s", code, c.ID, name, n.ID)
		}
		if c.Dissolved && !strings.Contains(text, "water, filtered") || c.Total && !strings.Contains(text, "unfiltered") {
			t.Errorf("%s: fraction of %q", code, text)
		}
		if b := strings.TrimPrefix(as, "as "); c.Basis != "" && string(c.Basis) != b {
			t.Errorf("%s is on the basis %s, the dictionary says %q", code, c.Basis, as)
		}
		if strings.HasPrefix(c.Note, calculated) != (strings.Contains(text, "calculated") || strings.Contains(text, "sum of constituents")) && !strings.Contains("00405 00900 00902 00904 00931", code) {
			t.Errorf("%s: note %q, description %q", code, c.Note, text)
		}
		if strings.Contains(text, "laboratory") && c.Note != inLab || strings.Contains(text, "field") && !strings.Contains(c.Note, "field") && !strings.HasPrefix(c.Note, calculated) {
			t.Errorf("%s: note %q, description %q", code, c.Note, text)
		}
	}
	if len(seen) < 60 {
		t.Errorf("only %d codes of the table stand in the file", len(seen))
	}
}

// TestExchangeNames: the characteristic names of the Water Quality Exchange
// that a well analysis uses are understood, and names that only contain one
// are not. Source: EPA, WQX domain list Characteristic; those marked with a
// star from memory.
func TestExchangeNames(t *testing.T) {
	for name, want := range map[string]ID{
		"Hardness, Ca, Mg": "hardness", "Total hardness": "hardness", "Hardness, carbonate": "carbonate_hardness", "Hardness, non-carbonate": "noncarbonate_hardness",
		"Alkalinity": "alkalinity", "Alkalinity, total": "alkalinity", "Bicarbonate": "bicarbonate", "Carbonate": "carbonate",
		"Nitrate": "nitrate", "Nitrite": "nitrite", "Nitrate + Nitrite": "nitrate_nitrite", "Inorganic nitrogen (nitrate and nitrite)": "nitrate_nitrite",
		"Ammonia and ammonium": "ammonium", "Ammonia-nitrogen": "ammonium", "Ammonium": "ammonium", "Orthophosphate": "phosphate", "Phosphorus": "phosphorus",
		"Carbon dioxide": "carbon_dioxide", "Specific conductance": "conductivity", "Conductivity": "conductivity", "Total dissolved solids": "tds",
		"Temperature, water": "temperature", "Dissolved oxygen (DO)": "dissolved_oxygen", "Escherichia coli": "e_coli", "Organic carbon": "toc",
		"Silica" /* * */ : "silica", "Oxidation reduction potential (ORP)" /* * */ : "orp", "Total Coliform" /* * */ : "total_coliform", "Tannin and Lignin" /* * */ : "tannin", "Sodium adsorption ratio" /* * */ : "sar",
		"Calcium": "calcium", "Iron": "iron", "Chloride": "chloride", "Sulfate": "sulfate", "Fluoride": "fluoride", "pH": "ph", "Turbidity": "turbidity",
		"Temperature, air": "", "Sodium plus potassium": "", "Sodium, percent total cations": "", "Acidity, (H+)": "", "Fecal Coliform": "", "Organic Nitrogen": "", "Kjeldahl nitrogen": "",
		"Uranium-238": "", "Methylene chloride": "", "Dissolved oxygen saturation": "", "Depth": "", "Barometric pressure": "", "Strontium-87/Strontium-86, ratio": "",
	} {
		if n, _ := ByName(name); n.ID != want {
			t.Errorf("%q: %q, want %q", name, n.ID, want)
		}
	}
}
