package analyte

import "testing"

// Characteristic names of the Water Quality Exchange (US EPA and USGS, public
// domain list of CharacteristicName) that ground water downloads carry.
func TestCharacteristicNames(t *testing.T) {
	for name, want := range map[string]Naming{
		"Hardness, Ca, Mg": {ID: "hardness"}, "Total hardness": {ID: "hardness"}, "Hardness, carbonate": {ID: "carbonate_hardness"}, "Hardness, non-carbonate": {ID: "noncarbonate_hardness"},
		"Alkalinity": {ID: "alkalinity"}, "Alkalinity, total": {ID: "alkalinity"}, "Bicarbonate": {ID: "bicarbonate"}, "Carbonate": {ID: "carbonate"}, "Nitrate": {ID: "nitrate"}, "Nitrite": {ID: "nitrite"},
		"Nitrate + Nitrite": {ID: "nitrate_nitrite"}, "Ammonia and ammonium": {ID: "ammonium"}, "Ammonia-nitrogen": {ID: "ammonium", Basis: "N"}, "Ammonium": {ID: "ammonium"}, "Orthophosphate": {ID: "phosphate"},
		"Phosphorus": {ID: "phosphorus"}, "Silica": {ID: "silica"}, "Carbon dioxide": {ID: "carbon_dioxide"}, "Specific conductance": {ID: "conductivity"}, "Conductivity": {ID: "conductivity"},
		"Total dissolved solids": {ID: "tds"}, "Temperature, water": {ID: "temperature"}, "Dissolved oxygen (DO)": {ID: "dissolved_oxygen"}, "Oxidation reduction potential (ORP)": {ID: "orp"},
		"Escherichia coli": {ID: "e_coli"}, "Total Coliform": {ID: "total_coliform"}, "Organic carbon": {ID: "toc"}, "Hydrogen sulfide": {ID: "hydrogen_sulfide"}, "pH": {ID: "ph"}, "Turbidity": {ID: "turbidity"},
		"Calcium": {ID: "calcium"}, "Iron": {ID: "iron"}, "Chloride": {ID: "chloride"}, "Sulfate": {ID: "sulfate"}, "Fluoride": {ID: "fluoride"},
	} {
		if got, ok := ByName(name); !ok || got != want {
			t.Errorf("%q: %+v, %v; want %+v", name, got, ok, want)
		}
	}
}

// Words that contain the name of an analyte and mean something else, and the
// same words in the languages of the survey.
func TestLongestSpellingWins(t *testing.T) {
	for _, name := range []string{"lead time", "iron stains", "Methylene Chloride", "magnesium chloride", "potassium permanganate demand", "compensated hardness", "Total cations", "air temperature", "lead and copper", "residual sodium carbonate"} {
		if got, ok := ByName(name); ok {
			t.Errorf("%q was taken for %s", name, got.ID)
		}
	}
	for name, want := range map[string]ID{
		"Gesamthärte": "hardness", "GESAMTHAERTE": "hardness", "Gesamthrte": "hardness", "Säurekapazität bis pH": "alkalinity", "Hydrogénocarbonates": "bicarbonate", "IJzer": "iron", "Järn": "iron",
		"Żelazo": "iron", "Konduktivitet": "conductivity", "Przewodność": "conductivity", "dureza total": "hardness", "Residuo fisso": "tds", "Färgtal": "color", "iron bacteria": "iron_bacteria",
		"sodium adsorption ratio": "sar", "calcium hardness": "calcium", "T-Alkalinity": "alkalinity", "Solids, Total Dissolved": "tds", "Conductance, Specific": "conductivity",
	} {
		if got, ok := ByName(name); !ok || got.ID != want {
			t.Errorf("%q: %q, want %q", name, got.ID, want)
		}
	}
}

// Every row names an analyte of the table, or none on purpose, and a basis
// that the analyte has.
func TestSpellingsAreSound(t *testing.T) {
	for _, row := range names {
		if row.naming.ID == "" {
			continue
		}
		a, ok := Lookup(row.naming.ID)
		if !ok {
			t.Errorf("no analyte %q", row.naming.ID)
			continue
		}
		if b := row.naming.Basis; b != "" && b != "CaCO3" && b != a.Own {
			if _, ok := a.Bases[b]; !ok {
				t.Errorf("%s is not reported as %s", a.ID, b)
			}
		}
	}
	for s, n := range symbols {
		if _, ok := Lookup(n.ID); !ok {
			t.Errorf("symbol %s: no analyte %q", s, n.ID)
		}
	}
}
