package process

import (
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// feeder doses an oxidant by a metering pump ahead of a contact tank: chlorine
// as bleach, or potassium permanganate.
type feeder struct {
	kind           Kind
	variant, title string
	residual       Figure // free chlorine left after contact, mg/L as Cl2; 0 for permanganate
	minutes        Figure // contact at peak flow
	iron           Figure // share of dissolved iron that turns into floc
	manganese      Figure // share of dissolved manganese that does so in the contact tank
	permanganate   bool
	facts          *Facts
}

var (
	chlorineResidual = Figure{"chlorine_residual", 0.5, 0.3, 1, "mg/L", "free chlorine kept after contact, for the filter behind",
		Source{"E-CL2-GUIDE", "handbooks: free chlorine kept on oxide-coated media", FromMemory}}
	disinfectResidual = Figure{"disinfect_residual", 1, 0.5, 3, "mg/L", "free chlorine kept to disinfect", practice}
	chlorineMinutes   = Figure{"chlorine_minutes", 20, 10, 30, "min", "contact with chlorine",
		Source{"E-CL2-GUIDE", "handbooks: minutes, plan 10-20; treatment ledger section 5.3: 20-30", FromMemory}}
	chlorineIron = Figure{"chlorine_iron", 0.95, 0.95, 1, "share", "iron oxidized by chlorine without raising pH",
		Source{"E-CL2-PCT", "Elsheikh et al. 2016, J. Eng. Appl. Sci. 63(4) 277-292, abstract", Verified}}
	chlorineManganese = Figure{"chlorine_manganese", 0, 0, 0.9, "share", "manganese oxidized by chlorine in minutes at neutral pH",
		Source{"E-CL2-GUIDE", "handbooks: pH 8.5-9 for hours, or oxide-coated media", FromMemory}}
	permanganateMinutes = Figure{"permanganate_minutes", 10, 5, 10, "min", "contact with permanganate",
		Source{"E-KMNO4-GUIDE", "handbooks: iron minutes, manganese 5-10 min", FromMemory}}
	permanganateIron = Figure{"permanganate_iron", 1, 0.95, 1, "share", "iron oxidized by permanganate at pH 7",
		Source{"E-KMNO4-PCT", "Elsheikh et al. 2016, J. Eng. Appl. Sci. 63(4) 277-292, abstract", Verified}}
	permanganateManganese = Figure{"permanganate_manganese", 0.9, 0.8, 0.9, "share", "manganese oxidized by permanganate at pH 7",
		Source{"E-KMNO4-PCT", "Elsheikh et al. 2016, J. Eng. Appl. Sci. 63(4) 277-292, abstract", Verified}}
)

const (
	feedIronPH = iota
	feedManganesePH
	feedTannin
)

func feedFacts(oxidant string, ironLow, ironHigh, manganeseLow float64, guide Source) *Facts {
	return &Facts{
		Windows: []Window{
			feedIronPH:      {PH, ironLow, ironHigh, Reduced, "iron oxidizes more slowly", guide},
			feedManganesePH: {PH, manganeseLow, math.Inf(1), Reduced, "manganese does not oxidize in the contact tank and is left to the filter", guide},
			feedTannin:      {Tannin, math.Inf(-1), tanninMark.Value, Refuses, "iron bound to tannin does not oxidize: nothing is promised", Source{"E-TANNIN1 E-TANNIN2", "water-treatment dealer page; association FAQ", Verified}},
		},
		Protects: []Protection{{"", "dissolved iron and manganese that would coat the beads, once a filter stands behind it",
			Source{"D06 D10", "trade note on iron and organic fouling", Verified}}},
		Needs:   NeedsPower | NeedsFrostFree | NeedsIndoors | NeedsHandling,
		Oxidant: oxidant,
		Claim:   "turns dissolved iron and manganese into floc and destroys sulfide; it must be followed by a filter, and chlorine by carbon",
		Source:  Source{"E13 E14 E15", "stoichiometry; treatment ledger section 5.3", Computed},
	}
}

var (
	chlorineGuide     = Source{"E-CL2-GUIDE", "handbooks: iron pH 6.5-8.0; manganese pH 8.5-9", FromMemory}
	permanganateGuide = Source{"E-KMNO4-GUIDE", "handbooks: iron pH > 6; manganese pH > 7.0-7.5", FromMemory}

	chlorineFeed = feeder{OxidantFeed, "chlorine", "bleach feed with contact tank", chlorineResidual, chlorineMinutes, chlorineIron, chlorineManganese, false,
		feedFacts("bleach", 6.5, 8.5, 8.5, chlorineGuide)}
	permanganateFeed = feeder{OxidantFeed, "permanganate", "permanganate feed with contact tank", Figure{}, permanganateMinutes, permanganateIron, permanganateManganese, true,
		feedFacts("potassium_permanganate", 6, 9, 7, permanganateGuide)}
	chlorineDisinfection = feeder{Disinfection, "chlorine", "bleach feed with contact tank, to disinfect", disinfectResidual, chlorineMinutes, chlorineIron, chlorineManganese, false,
		disinfectionFacts()}
)

// disinfectionFacts is a chlorine feed that is there for its residual.
func disinfectionFacts() *Facts {
	f := feedFacts("bleach", 6.5, 8.5, 8.5, chlorineGuide)
	f.Windows = append(f.Windows,
		Window{PH, 6, 8, Reduced, "free chlorine kills more slowly above, and corrodes below", practice},
		Window{Turbidity, math.Inf(-1), 1, Reduced, "particles shelter microbes", practice})
	f.Protects = []Protection{{"", "slime from bacteria in the water", practice}}
	f.Claim = "kills microbes; carbon must take the chlorine out before resin or a membrane"
	f.Source = practice
	return f
}

func (f *feeder) Kind() Kind      { return f.kind }
func (f *feeder) Variant() string { return f.variant }
func (f *feeder) Title() string   { return f.title }
func (f *feeder) Facts() *Facts   { return f.facts }

// Apply doses what the water takes, and for chlorine the residual on top.
func (f *feeder) Apply(in *water.Water) (Outcome, error) {
	o := f.facts.enter(in)
	o.Notes |= ironNotes(in)
	iron, manganese := f.iron.Value, f.manganese.Value
	if o.Outside.Has(feedIronPH) {
		iron *= outsideShare.Value
	}
	if o.Outside.Has(feedManganesePH) {
		manganese = 0
	}
	if o.Outside.Has(feedTannin) {
		iron = 0
	}
	if f.permanganate {
		f.dosePermanganate(&o, iron, manganese)
	} else {
		f.doseChlorine(&o, iron, manganese)
	}
	return o, o.settle(f, in.TotalCarbon())
}

// doseChlorine adds bleach for the whole demand and the residual. What the
// metals left in solution would take stays as free chlorine, for the filter.
// One mole of chlorine comes as one mole each of sodium hypochlorite and
// sodium chloride, as bleach is made: 2 Na+, 1 Cl-, and 1 Cl- more once it has
// reacted. Sulfide goes to sulfate and ammonia to nitrogen.
func (f *feeder) doseChlorine(o *Outcome, iron, manganese float64) {
	w := &o.Out
	d := ChlorineDemand(w)
	o.Notes |= d.Unmeasured
	if w.Ion[water.Ammonium] > 0 && !w.Matter.Unknown.Has(water.UnknownAmmonium) {
		o.Notes |= NoteBreakpoint
	}
	reacted := d.Iron*unit.MgPerL(iron) + d.Manganese*unit.MgPerL(manganese) + d.Sulfide + d.Ammonium + d.Organics
	dose := max(0, d.Total()+unit.MgPerL(f.residual.Value)-w.Matter.FreeChlorine)
	o.Use.Oxidant = float64(dose) / 1000
	w.Matter.FreeChlorine += dose - reacted
	w.Matter.Unknown &^= water.UnknownChlorine
	w.Ion[water.Sodium] += 2 * mmol(dose, molarCl2)
	w.Ion[water.Chloride] += mmol(dose+reacted, molarCl2)
	w.Ion[water.Sulfate] += w.Sulfide
	w.Sulfide = 0
	w.Ion[water.Ammonium] = 0
	oxidize(w, iron, manganese)
}

// dosePermanganate adds potassium permanganate by the field rule. All of its
// manganese ends as manganese dioxide, sulfide as sulfur.
func (f *feeder) dosePermanganate(o *Outcome, iron, manganese float64) {
	w := &o.Out
	d := PermanganateDemand(w)
	o.Notes |= d.Unmeasured
	if w.Sulfide > 0 {
		o.Notes |= NoteSulfurColloid
	}
	o.Use.Oxidant = float64(d.Total()) / 1000
	n := mmol(d.Total(), molarKMnO4)
	w.Ion[water.Potassium] += n
	w.Matter.ParticulateManganese += mg(n, molarMn)
	w.Matter.SuspendedSolids += mg(w.Sulfide, molarS)
	w.Sulfide = 0
	oxidize(w, iron, manganese)
}

func (f *feeder) Size(_ *water.Water, d Duty) Size {
	z := Size{Units: 1, Class: "feeder", Tank: unit.Litres(float64(d.PeakFlow) * f.minutes.Value), Feed: d}
	z.Text = "metering pump, solution tank and contact tank of " + volume(z.Tank)
	z.Upkeep = []Upkeep{
		{Task: "mix fresh solution and check the dose", Every: 1, Hours: 0.5, Trigger: "residual off by half, or pink water", Source: practice},
		{Task: "clean the pump valves and injector", Every: 6, Hours: 1, Source: practice},
		{Task: "replace the metering pump's tube or diaphragm", Every: 12, Hours: 0.5, Part: "pump_tube", Parts: 1, Source: practice},
	}
	return z
}
