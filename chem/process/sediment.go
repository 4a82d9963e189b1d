package process

import (
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// sediment is a particle filter: a replaceable cartridge or a backwashed bed.
type sediment struct {
	variant, title string
	solids         Figure  // share of turbidity and suspended solids taken out
	floc           Figure  // share of particulate iron and manganese taken out
	bed            *medium // nil for a cartridge
	facts          *Facts
}

// Cartridge is a common size of sediment cartridge.
type Cartridge struct {
	Class    string
	Text     string
	Flow     float64 // gpm at which the clean drop is E03
	Capacity float64 // g of dirt
}

// Cartridges returns the sizes, smallest first. Dirt holding: ledger E02 (100
// g for 2.5 x 10 in, 4 to 8 times that for 4.5 x 20 in); flows: common
// practice, no source.
func Cartridges() []Cartridge { return append([]Cartridge(nil), cartridges[:]...) }

var cartridges = [...]Cartridge{
	{"cartridge_10in", "2.5 x 10 in cartridge", 3, 100},
	{"cartridge_20in", "2.5 x 20 in cartridge", 6, 200},
	{"cartridge_10in_wide", "4.5 x 10 in cartridge", 8, 300},
	{"cartridge_20in_wide", "4.5 x 20 in cartridge", 15, 600},
}

var (
	practice = Source{"", "common practice", CommonPractice}

	nominalShare  = Figure{"nominal_share", 0.8, 0.7, 0.9, "share", "solids of the rated size held by a nominal cartridge", Source{"E01", "nominal = 70-90 % removal at size", CommonPractice}}
	floc5um       = Figure{"floc_5um", 0.1, 0, 0.5, "share", "fresh iron floc held by a 5 um cartridge", Source{"E04", "trade article Feb 2020: floc is often smaller than 1 um; the share is an allowance", CommonPractice}}
	floc1um       = Figure{"floc_1um", 0.3, 0.1, 0.7, "share", "fresh iron floc held by a 1 um cartridge", Source{"E04", "trade article Feb 2020: floc is often smaller than 1 um; the share is an allowance", CommonPractice}}
	flocDepth     = Figure{"floc_depth_bed", 0.9, 0.7, 0.98, "share", "iron floc held by a backwashed bed after detention", Source{"E-AER-PCT", "Elsheikh et al. 2016, J. Eng. Appl. Sci. 63(4) 277-292, abstract: aeration and filtration took out 90 % of the iron", Verified}}
	cleanDrop     = Figure{"cartridge_drop", 1, 0.5, 3, "psi", "clean cartridge at its rated flow", Source{"E03", "common practice", CommonPractice}}
	cartridgeLife = Figure{"cartridge_months", 6, 3, 12, "months", "longest time between changes, whatever the drop", practice}
	depthDays     = Figure{"depth_backwash_days", 7, 3, 14, "days of use", "longest run of a filter bed between backwashes", practice}
	solidsPerNTU  = Figure{"solids_per_ntu", 1.5, 0.5, 3, "mg/L per NTU", "suspended solids where only turbidity was measured", practice}
)

var depthBed = medium{
	name: "filter medium", grain: 0.6e-3, void: 0.45, density: 0.8,
	service:  Figure{"depth_service", 3, 2, 5, "gpm/ft2", "filter bed behind detention", Source{"E17", "treatment ledger section 5.3, aeration + detention + filter: 3 gpm/ft2", CommonPractice}},
	backwash: Figure{"depth_backwash", 10, 8, 15, "gpm/ft2", "filter bed", Source{"", "treatment ledger section 5.3: 8-15 gpm/ft2", CommonPractice}},
}

var sedimentWindows = []Window{
	{SuspendedSolids, math.Inf(-1), 20, Fouls, "a cartridge plugs within days", practice},
	{FlocIron, math.Inf(-1), 0.5, Fouls, "iron floc blinds a cartridge, and the finest of it passes", Source{"E04", "trade article Feb 2020", Verified}},
	{Temperature, 1, 38, Damages, "housings crack in frost and soften when hot", practice},
}

func cartridgeFacts() *Facts {
	return &Facts{
		Windows: sedimentWindows,
		Protects: []Protection{
			{"", "silt that plugs the bed", Source{"D11 D12", "turbidity and suspended solids at a resin bed", CommonPractice}},
			{ReverseOsmosis, "particles that foul the membrane", Source{"E67", "RO feed parameter guide", Verified}},
		},
		Needs:  NeedsFrostFree,
		Claim:  "takes out particles of its rating and leaves every ion, dissolved iron and manganese",
		Source: Source{"E01 E04", "treatment ledger section 5.1", CommonPractice},
	}
}

var (
	sediment5um = sediment{"5um", "sediment cartridge, 5 um", nominalShare, floc5um, nil, cartridgeFacts()}
	sediment1um = sediment{"1um", "sediment cartridge, 1 um", nominalShare, floc1um, nil, cartridgeFacts()}
	sedimentBed = sediment{"depth_bed", "backwashed filter bed", nominalShare, flocDepth, &depthBed, depthBed.rated(&Facts{
		Windows: []Window{
			{IronAndManganese, math.Inf(-1), 15, Fouls, "the bed fills with floc between backwashes", practice},
			{Temperature, 1, 38, Damages, "the tank cracks in frost", practice},
		},
		Protects: []Protection{{"", "iron floc and silt that plug the bed", Source{"D09", "trade article Feb 2020: a resin bed strains to about 2 um", Verified}}},
		Needs:    NeedsDrain | NeedsPower | NeedsFrostFree,
		Claim:    "takes out silt and the floc that oxidation made, and leaves every ion, dissolved iron and manganese",
		Source:   Source{"E21 E-AER-PCT", "treatment ledger section 5.3", Verified},
	})}
)

func (s *sediment) Kind() Kind      { return SedimentFilter }
func (s *sediment) Variant() string { return s.variant }
func (s *sediment) Title() string   { return s.title }
func (s *sediment) Facts() *Facts   { return s.facts }

// Apply changes no ion.
func (s *sediment) Apply(in *water.Water) (Outcome, error) {
	o := s.facts.enter(in)
	m := &o.Out.Matter
	if s.bed == nil && m.ParticulateIron > 0.1 {
		o.Notes |= NoteFlocPasses
	}
	m.Turbidity *= 1 - s.solids.Value
	m.SuspendedSolids *= unit.MgPerL(1 - s.solids.Value)
	m.ParticulateIron *= unit.MgPerL(1 - s.floc.Value)
	m.ParticulateManganese *= unit.MgPerL(1 - s.floc.Value)
	return o, nil
}

// dirt returns the mg/L of solids that a water carries.
func dirt(w *water.Water) float64 {
	m := &w.Matter
	solids := max(float64(m.SuspendedSolids), solidsPerNTU.Value*m.Turbidity)
	return solids + ferricHydroxide*float64(m.ParticulateIron) + manganeseDioxide*float64(m.ParticulateManganese)
}

func (s *sediment) Size(in *water.Water, d Duty) Size {
	if s.bed != nil {
		z := s.bed.strain(d, in.Temperature, 0, dirt(in))
		s.bed.backwashed(&z, d, dirt(in), depthDays.Value)
		z.Feed = d
		z.Upkeep = []Upkeep{
			{Task: "watch one backwash and look at the drain water", Every: 6, Hours: 0.5, Trigger: "pressure drop up 10 psi", Source: practice},
			{Task: "replace the filter medium", Every: 96, Hours: 3, Part: "filter_medium", Parts: z.Medium.CubicFeet(), Source: practice},
		}
		return z
	}
	units, c := 1, cartridges[0]
search:
	for ; units < endOfUnits; units++ {
		for _, c = range cartridges {
			if c.Flow*float64(units) >= d.PeakFlow.GallonsPerMinute() {
				break search
			}
		}
	}
	z := Size{Text: c.Text, Class: c.Class, Units: units, Feed: d}
	if units > 1 {
		z.Text = fmt.Sprintf("%d of %s", units, c.Text)
	}
	if units > mostUnits {
		z.Notes |= NoteManyUnits
	}
	z.Drop = unit.PSI(cleanDrop.Value * d.PeakFlow.GallonsPerMinute() / (c.Flow * float64(units)))
	months := cartridgeLife.Value
	if perMonth := dirt(in) / 1000 * s.solids.Value * float64(d.YearVolume) / 12; perMonth > 0 {
		months = min(months, c.Capacity*float64(units)/perMonth)
	}
	z.Upkeep = []Upkeep{{
		Task: "change the sediment cartridge", Every: months, Trigger: "pressure drop up 10 psi", Hours: 0.25,
		Part: c.Class, Parts: float64(units), Source: Source{"E02 E03", "common practice", CommonPractice},
	}}
	return z
}
