package water

import (
	"math"
	"strconv"

	"forebed/chem/analyte"
)

// DocumentVersion is the version field of the composition document.
const DocumentVersion = "forebed.composition/1"

// Document is the composition document: one entry a sample. Figures carry
// four significant digits.
type Document struct {
	Version string           `json:"version"`
	Samples []SampleDocument `json:"samples"`
}

// SampleDocument is one composition as it stands in the document.
type SampleDocument struct {
	Label              string                         `json:"label"`
	Draws              int                            `json:"draws"`
	Given              []string                       `json:"given"`
	PH                 Band                           `json:"ph"`
	PHOrigin           Origin                         `json:"ph_origin"`
	Temperature        Band                           `json:"temperature_c"`
	IonicStrength      Band                           `json:"ionic_strength_mol_per_l"`
	Ions               map[analyte.ID]ReadingDocument `json:"ions"`
	CarbonDioxide      ReadingDocument                `json:"carbon_dioxide"`
	Silica             ReadingDocument                `json:"silica"`
	Sulfide            ReadingDocument                `json:"hydrogen_sulfide"`
	Load               LoadDocument                   `json:"load"`
	Hardness           Band                           `json:"hardness_mg_per_l_as_caco3"`
	Alkalinity         Band                           `json:"alkalinity_mg_per_l_as_caco3"`
	Conductivity       Band                           `json:"conductivity_us_per_cm"`
	ConductivityMethod string                         `json:"conductivity_method"`
	DissolvedSolids    Band                           `json:"dissolved_solids_mg_per_l"`
	Residue            Band                           `json:"dry_residue_mg_per_l"`
	Saturation         SaturationDocument             `json:"saturation"`
	Central            CentralDocument                `json:"central"`
	Checks             []Check                        `json:"checks"`
	Cautions           []Caution                      `json:"cautions"`
	Assumptions        []string                       `json:"assumptions"`
}

// ReadingDocument is one constituent.
type ReadingDocument struct {
	Milligrams  Band   `json:"mg_per_l"`
	Equivalents Band   `json:"meq_per_l"`
	Origin      Origin `json:"origin"`
}

// LoadDocument is the load on each half of a mixed bed.
type LoadDocument struct {
	Cation Band `json:"cation_meq_per_l"`
	Anion  Band `json:"anion_meq_per_l"`
}

// SaturationDocument holds saturation indices.
type SaturationDocument struct {
	Calcite         Band `json:"calcite"`
	Gypsum          Band `json:"gypsum"`
	AmorphousSilica Band `json:"amorphous_silica"`
}

// CentralDocument is the one consistent draw that stands for the middle.
type CentralDocument struct {
	PH            float64                `json:"ph"`
	Ions          map[analyte.ID]float64 `json:"ions_meq_per_l"`
	CarbonDioxide float64                `json:"carbon_dioxide_mmol_per_l"`
	Silica        float64                `json:"silica_mmol_per_l"`
	Cation        float64                `json:"cation_load_meq_per_l"`
	Anion         float64                `json:"anion_load_meq_per_l"`
}

// Encode makes the document of compositions.
func Encode(compositions ...*Composition) Document {
	d := Document{Version: DocumentVersion, Samples: []SampleDocument{}}
	for _, c := range compositions {
		d.Samples = append(d.Samples, c.document())
	}
	return d
}

func (c *Composition) document() SampleDocument {
	reading := func(r Reading) ReadingDocument {
		return ReadingDocument{r.Milligrams.rounded(), r.Equivalents.rounded(), r.Origin}
	}
	load := c.Central.Load()
	d := SampleDocument{
		Label: c.Label, Draws: len(c.Draws), Given: orEmpty(c.Given),
		PH: c.PH.rounded(), PHOrigin: c.PHOrigin, Temperature: c.Temperature.rounded(), IonicStrength: c.IonicStrength.rounded(),
		Ions:          map[analyte.ID]ReadingDocument{},
		CarbonDioxide: reading(c.CO2), Silica: reading(c.Silica), Sulfide: reading(c.Sulfide),
		Load:     LoadDocument{c.CationLoad.rounded(), c.AnionLoad.rounded()},
		Hardness: c.Hardness.rounded(), Alkalinity: c.Alkalinity.rounded(),
		Conductivity: c.Conductivity.rounded(), ConductivityMethod: "theory",
		DissolvedSolids: c.DissolvedSolids.rounded(), Residue: c.Residue.rounded(),
		Saturation: SaturationDocument{c.Calcite.rounded(), c.Gypsum.rounded(), c.AmorphousSilica.rounded()},
		Central: CentralDocument{PH: rounded(c.Central.PH), Ions: map[analyte.ID]float64{}, CarbonDioxide: rounded(float64(c.Central.CO2)),
			Silica: rounded(float64(c.Central.Silica)), Cation: rounded(float64(load.Cation)), Anion: rounded(float64(load.Anion))},
		Checks: orEmpty(c.Checks), Cautions: orEmpty(c.Cautions), Assumptions: orEmpty(c.Assumptions),
	}
	for i := range Ion(NumIons) {
		d.Ions[i.ID()] = reading(c.Ions[i])
		d.Central.Ions[i.ID()] = rounded(float64(c.Central.Equivalents(i)))
	}
	for i := range d.Checks {
		d.Checks[i].Found, d.Checks[i].Expected = rounded(d.Checks[i].Found), rounded(d.Checks[i].Expected)
	}
	return d
}

// orEmpty gives an empty list where there is none, so that JSON holds [].
func orEmpty[T any](v []T) []T { return append([]T{}, v...) }

func (b Band) rounded() Band { return Band{rounded(b.P10), rounded(b.P50), rounded(b.P90)} }

// rounded keeps four significant digits.
func rounded(v float64) float64 {
	if v == 0 || math.IsNaN(v) || math.IsInf(v, 0) {
		return 0
	}
	r, err := strconv.ParseFloat(strconv.FormatFloat(v, 'g', 4, 64), 64)
	if err != nil {
		panic(err) // FormatFloat writes what ParseFloat reads
	}
	return r
}
