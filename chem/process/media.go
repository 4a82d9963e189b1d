package process

import (
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// mediaFilter is a bed whose grains carry manganese dioxide: it strains floc
// and catalyses the oxidation of what is still dissolved, by the oxidant in
// the water or by permanganate that it was regenerated with.
type mediaFilter struct {
	variant, title string
	bed            *medium
	own            bool // it brings its own oxidant: regenerated with permanganate
	chlorine       bool // free chlorine may feed it
	manganeseByAir Figure
	facts          *Facts
}

var (
	mediaShare = Figure{"media_share", 0.98, 0.9, 1, "share", "floc, and metal oxidized on the grains, that a manganese-dioxide bed holds",
		Source{"E-KMNO4-PCT", "measured up to 100 % of iron; the rest is common practice", CommonPractice}}
	coatedCapacity = Figure{"coated_capacity", 10000, 0, 0, "mg/L·gal per ft3", "permanganate demand that a coated medium takes between regenerations",
		Source{"E16 C09", "manganese-coated media sheet (name withheld), capacity table", Verified}}
	mediaDays          = Figure{"media_backwash_days", 7, 3, 14, "days of use", "longest run of a manganese-dioxide bed between backwashes", practice}
	manganeseByAirPH   = Figure{"media_manganese_ph", 7.5, 7.5, 8, "pH", "above which a solid manganese dioxide takes manganese with air alone", mediaGuide}
	manganeseByChlorPH = Figure{"media_manganese_chlorine_ph", 6.8, 6.8, 7, "pH", "above which manganese-dioxide media take manganese with free chlorine", Source{"E-CL2-GUIDE", "handbooks: pH >= 6.8-7 on oxide-coated media with free chlorine kept", FromMemory}}

	mediaGuide = Source{"E-MNO2-GUIDE", "generic: pH >= 6.8-7.0, manganese >= 7.5-8.0 without chlorine", FromMemory}
)

var (
	coatedBed = medium{
		name: "manganese-dioxide-coated medium", grain: 0.45e-3, void: 0.45, density: 1.36,
		service:  Figure{"coated_service", 5, 3, 5, "gpm/ft2", "coated medium, household; public supplies 3", Source{"E17", "Oklahoma OAC 252:626-9-7, (3)(C): max 3 gpm/ft2; home units up to 5 by common practice", CommonPractice}},
		backwash: Figure{"coated_backwash", 10, 8, 12, "gpm/ft2", "coated medium", Source{"E18", "Oklahoma OAC 252:626-9-7, (3)(D): 8-10", Verified}},
	}
	catalystBed = medium{
		name: "air-catalysed light medium", grain: 0.9e-3, void: 0.5, density: 0.7,
		service:  Figure{"catalyst_service", 5, 3.5, 5, "gpm/ft2", "air-catalysed medium", Source{"", "treatment ledger section 5.3: 3.5-5", CommonPractice}},
		backwash: Figure{"catalyst_backwash", 11, 10, 12, "gpm/ft2", "air-catalysed medium", Source{"", "treatment ledger section 5.3: 10-12", CommonPractice}},
	}
	oreBed = medium{
		name: "solid manganese dioxide", grain: 0.6e-3, void: 0.5, density: 2.0,
		service:  Figure{"ore_service", 8, 5, 12, "gpm/ft2", "solid manganese dioxide", Source{"E22", "common practice", CommonPractice}},
		backwash: Figure{"ore_backwash", 27, 25, 30, "gpm/ft2", "solid manganese dioxide", Source{"E22", "common practice", CommonPractice}},
	}
)

const (
	mediaIronPH = iota
	mediaManganesePH
	mediaTannin
	mediaLoad
	mediaSulfide
	mediaFrost
)

// mediaLimits are the windows in which the media differ.
type mediaLimits struct {
	lowPH, highPH float64 // for iron
	manganesePH   float64 // lowest for manganese
	metal         float64 // most iron and manganese, mg/L
	sulfide       float64 // most sulfide, mg/L
	guide         Source
}

// facts states what all manganese-dioxide beds have in common.
func (l mediaLimits) facts(bed *medium, claim string) *Facts {
	return bed.rated(&Facts{
		Windows: []Window{
			mediaIronPH:      {PH, l.lowPH, l.highPH, Reduced, "iron oxidizes on the grains too slowly below, and as a fine floc above", l.guide},
			mediaManganesePH: {PH, l.manganesePH, math.Inf(1), Reduced, "manganese passes, unless free chlorine is kept or the medium is regenerated with permanganate", mediaGuide},
			mediaTannin:      {Tannin, math.Inf(-1), tanninMark.Value, Refuses, "iron bound to tannin passes: nothing is promised", Source{"E-TANNIN1 E-TANNIN2", "water-treatment dealer page; association FAQ", Verified}},
			mediaLoad:        {IronAndManganese, math.Inf(-1), l.metal, Fouls, "the bed fills faster than it can be backwashed", l.guide},
			mediaSulfide:     {Sulfide, math.Inf(-1), l.sulfide, Fouls, "sulfide coats the grains and spoils the medium", Source{"E-SULFIDE-MEDIA", "handbooks: 2-5 mg/L with regular permanganate", FromMemory}},
			mediaFrost:       {Temperature, 1, 38, Damages, "the tank cracks in frost", practice},
		},
		Protects: []Protection{
			{"", "iron and manganese that coat the beads and plug the bed", Source{"D06 D10", "trade note on iron and organic fouling: pretreat above 0.5 to below 0.1 mg/L", Verified}},
			{ReverseOsmosis, "iron and manganese that foul the membrane", Source{"E65", "residential RO manual (name withheld), table B", Verified}},
			{Softener, "iron that coats the resin", Source{"E37", "trade articles 2004, 2020", Verified}},
		},
		Needs:  NeedsDrain | NeedsPower | NeedsFrostFree,
		Claim:  claim,
		Source: Source{"E-SELECT3 E-GREENSAND", "Virginia extension publication 356-481; reference page, table", Verified},
	})
}

var (
	mediaCoated   = mediaFilter{"coated_permanganate", "manganese-dioxide-coated filter, regenerated with permanganate", &coatedBed, true, true, Figure{}, coatedFacts()}
	mediaCatalyst = mediaFilter{"catalytic_air", "air-catalysed filter", &catalystBed, false, false, Figure{}, catalystFacts()}
	mediaOre      = mediaFilter{"manganese_dioxide", "solid manganese dioxide filter", &oreBed, false, true, manganeseByAirPH,
		mediaLimits{lowPH: 6.5, highPH: 9, manganesePH: 6.8, metal: 15, sulfide: 2,
			guide: Source{"E22", "treatment ledger section 5.3: pH 6.5-9, needs oxidant for Mn", CommonPractice},
		}.facts(&oreBed, "strains floc and takes dissolved iron and manganese with the oxidant already in the water; leaves hardness and salts")}
)

func coatedFacts() *Facts {
	f := mediaLimits{lowPH: 6.7, highPH: 8.8, manganesePH: 6.7, metal: 15, sulfide: 5,
		guide: Source{"E19 E-GREENSAND-MN", "handbook treatment table: pH 6.7 or higher; iron to 10, iron and manganese to 6-15 mg/L", Verified},
	}.facts(&coatedBed, "takes dissolved iron, manganese and sulfide with the permanganate it was regenerated with, and strains floc; leaves hardness and salts")
	f.Windows = append(f.Windows, Window{AnyIron, math.Inf(-1), 10, Fouls, "iron above what a coated bed copes with", Source{"E19", "handbook treatment table", Verified}})
	f.Needs |= NeedsHandling
	f.Oxidant = "potassium_permanganate"
	return f
}

// catalystFacts differ in that air alone does not take manganese, that any
// sulfide spoils the catalyst, and that it needs oxygen.
func catalystFacts() *Facts {
	f := mediaLimits{lowPH: 6.8, highPH: 9, metal: 15, sulfide: 0.1,
		guide: Source{"E20 E-PUMICITE", "handbook treatment table, row b", Verified},
	}.facts(&catalystBed, "takes dissolved iron with the oxygen in the water and strains floc; leaves manganese, hardness and salts")
	f.Windows[mediaManganesePH] = Window{DissolvedManganese, math.Inf(-1), 0.05, Reduced, "manganese passes: air on this medium does not take it", Source{"E-MN-AIR-PH", "state operator-certification programme page (Kentucky)", Verified}}
	f.Windows[mediaSulfide].Effect = Refuses
	f.Windows = append(f.Windows,
		Window{OxygenPerIron, 0.15, math.Inf(1), Reduced, "too little oxygen for the iron", Source{"E20", "handbook treatment table, row b: O2 at least 15 % of iron", Verified}},
		Window{FreeChlorine, math.Inf(-1), 0.1, Fouls, "chlorine strips the catalyst", practice})
	return f
}

func (f *mediaFilter) Kind() Kind      { return OxidizingMediaFilter }
func (f *mediaFilter) Variant() string { return f.variant }
func (f *mediaFilter) Title() string   { return f.title }
func (f *mediaFilter) Facts() *Facts   { return f.facts }

// MediaDemand returns the permanganate demand by which a coated medium is
// used up, in mg/L: 1 Fe + 2 Mn + 5 H2S (ledger C09).
func MediaDemand(w *water.Water) unit.MgPerL {
	d := PermanganateDemand(w)
	return d.Iron + d.Manganese + d.Sulfide
}

// CoatedRun returns the water that so much coated medium treats between
// regenerations at a demand. Ledger C09: 4.6 mg/L gives 2,174 gal/ft3.
func CoatedRun(medium unit.Litres, demand unit.MgPerL) unit.Litres {
	return unit.Gallons(coatedCapacity.Value / float64(demand) * medium.CubicFeet())
}

// Apply strains the floc, then spends the oxidant on iron first and manganese
// after. Metal for which there is no oxidant stays dissolved.
func (f *mediaFilter) Apply(in *water.Water) (Outcome, error) {
	o := f.facts.enter(in)
	o.Notes |= ironNotes(in)
	w := &o.Out
	m := &w.Matter
	m.Turbidity *= 1 - nominalShare.Value
	m.SuspendedSolids *= unit.MgPerL(1 - nominalShare.Value)
	m.ParticulateIron *= unit.MgPerL(1 - mediaShare.Value)
	m.ParticulateManganese *= unit.MgPerL(1 - mediaShare.Value)
	if f.facts.refuses(o.Outside) {
		return o, nil
	}
	iron, manganese := f.shares(in, o.Outside)
	if f.own {
		o.Use.Oxidant = float64(MediaDemand(in)) / 1000
		w.Sulfide = 0
	} else {
		iron = f.spend(m, w.Milligrams(water.Iron), iron, chlorinePerIron, oxygenPerIron)
		manganese = f.spend(m, w.Milligrams(water.Manganese), manganese, chlorinePerManganese, oxygenPerManganese)
		if f.chlorine { // the ore oxidizes sulfide to sulfur, which it strains
			w.Sulfide *= unit.MmolPerL(1 - mediaShare.Value)
		}
	}
	if in.Ion[water.Iron] == 0 && in.Ion[water.Manganese] == 0 && in.Sulfide == 0 {
		return o, nil
	}
	w.Ion[water.Iron] *= unit.MmolPerL(1 - iron)
	w.Ion[water.Manganese] *= unit.MmolPerL(1 - manganese)
	return o, o.settle(f, in.TotalCarbon())
}

// shares returns the shares of dissolved iron and manganese that the grains
// take when oxidant is there.
func (f *mediaFilter) shares(in *water.Water, outside Set) (iron, manganese float64) {
	iron, manganese = mediaShare.Value, mediaShare.Value
	if outside.Has(mediaIronPH) {
		iron *= outsideShare.Value
	}
	switch {
	case f.own:
		if outside.Has(mediaManganesePH) {
			manganese *= outsideShare.Value
		}
	case f.chlorine && in.Matter.FreeChlorine > 0 && in.PH >= manganeseByChlorPH.Value:
	case f.manganeseByAir.Value > 0 && in.PH >= f.manganeseByAir.Value:
	default:
		manganese = 0
	}
	return iron, manganese
}

// spend takes the oxidant for a share of a metal out of the water, chlorine
// before oxygen, and returns the share that the oxidant sufficed for.
func (f *mediaFilter) spend(m *water.Matter, metal unit.MgPerL, share, perChlorine, perOxygen float64) float64 {
	want := float64(metal) * share
	if want <= 0 {
		return 0
	}
	done := 0.0
	if f.chlorine {
		done = min(want, float64(m.FreeChlorine)/perChlorine)
		m.FreeChlorine = max(0, m.FreeChlorine-unit.MgPerL(done*perChlorine))
	}
	more := min(want-done, float64(m.Oxygen)/perOxygen)
	m.Oxygen = max(0, m.Oxygen-unit.MgPerL(more*perOxygen))
	return (done + more) / float64(metal)
}

// daily returns the medium that lasts the busiest day between regenerations,
// which take the filter out of service and are set for the night; 0 for a
// medium that is not regenerated.
func (f *mediaFilter) daily(d Duty, demand unit.MgPerL) unit.Litres {
	if !f.own || demand <= 0 {
		return 0
	}
	return unit.CubicFeet(float64(demand) * d.day().Gallons() / coatedCapacity.Value)
}

func (f *mediaFilter) Size(in *water.Water, d Duty) Size {
	demand := MediaDemand(in)
	solids := dirt(in) + ferricHydroxide*DissolvedIron.Of(in) + manganeseDioxide*DissolvedManganese.Of(in)
	z := f.bed.strain(d, in.Temperature, f.daily(d, demand), solids)
	f.bed.backwashed(&z, d, solids, mediaDays.Value)
	z.Feed = d
	years := 5.0
	if f.own {
		if demand > 0 {
			days := float64(CoatedRun(z.Medium, demand) / max(1, d.day()))
			f.bed.every(&z, d, min(z.Interval, days))
		}
		z.Upkeep = append(z.Upkeep, Upkeep{Task: "fill the permanganate tank", Every: 2, Hours: 0.3, Trigger: "no purple left in the tank", Source: practice})
		years = 6
	}
	z.Upkeep = append(z.Upkeep,
		Upkeep{Task: "watch one backwash; test iron and manganese behind the filter", Every: 3, Hours: 0.5, Trigger: "iron above 0.1 mg/L behind it", Source: practice},
		Upkeep{Task: "replace the medium", Every: 12 * years, Hours: 3, Part: "medium_" + f.variant, Parts: z.Medium.CubicFeet(), Source: practice})
	return z
}
