package process

import (
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// neutralizer is a contact bed of calcite, or of calcite blended with
// magnesia, in a closed tank: no gas leaves, so that the carbon dioxide it
// takes up stays in the water as bicarbonate.
//
//	CaCO3 + CO2 + H2O  = Ca++ + 2 HCO3-     (ledger E41)
//	MgO + 2 CO2 + H2O  = Mg++ + 2 HCO3-     (ledger E42)
type neutralizer struct {
	variant, title string
	magnesia       Figure // share of the free CO2 that magnesia takes; 0 without it
	facts          *Facts
}

var (
	calciteApproach = Figure{"calcite_approach", 0, -1, 0, "saturation index", "of the water that leaves: 0 is equilibrium, the limit that a contactor approaches and the most it can add to the load",
		Source{"", "closed-system limit computed by chem/water; -1 where the water is too acid for the contact", Computed}}
	magnesiaShare = Figure{"magnesia_share", 0.4, 0.2, 0.6, "share", "of the free CO2 taken by magnesia in a common blend, which dissolves faster than its 10-20 % by weight",
		Source{"E39", "drinking water guide on pH adjustment: blend keeps the bed from cementing; the share is common practice", CommonPractice}}
	calciteDepth = Figure{"calcite_depth", 33, 32, 36, "in", "depth of a neutralizing bed",
		Source{"E40 E-NEUT-2", "drinking water guide on pH adjustment", Verified}}
	calciteRefill = Figure{"calcite_refill", 0.25, 0.15, 0.33, "share", "of the bed dissolved before it is topped up", practice}
)

var calciteBed = medium{
	name: "calcite", grain: 0.8e-3, void: 0.45, density: 1.44,
	service: Figure{"calcite_service", 3, 3, 6, "gpm/ft2", "neutralizing bed",
		Source{"E40 E-NEUT-2", "drinking water guide on pH adjustment; another page: 6 gpm/ft2 peak", Verified}},
	backwash: Figure{"calcite_backwash", 10, 8, 12, "gpm/ft2", "neutralizing bed", practice},
}

var calciteDays = Figure{"calcite_backwash_days", 14, 7, 30, "days of use", "longest run between backwashes, against cementing", practice}

const neutralizerPH = 0

func neutralizerFacts(low float64, source Source, medium string) *Facts {
	return &Facts{
		Windows: []Window{
			neutralizerPH: {PH, low, 6.8, Reduced, "below, the medium dissolves too slowly for the acid; above, there is little to neutralize", source},
			{AnyIron, math.Inf(-1), 2, Fouls, "iron coats the grains once the pH rises, faster than backwashing clears them", practice},
			{Temperature, 1, 38, Damages, "the tank cracks in frost", practice},
		},
		Protects: []Protection{
			{"", "copper and iron that acid water dissolves from pipes", Source{"E-SELECT6", "Virginia extension publication 356-481", Verified}},
			{OxidizingMediaFilter, "a pH below its window", Source{"E19 E20", "handbook treatment table", Verified}},
		},
		Needs:  NeedsDrain | NeedsPower | NeedsFrostFree,
		Medium: medium,
		Claim:  "turns carbon dioxide into calcium bicarbonate: the pH rises, and hardness and load on the bed with it",
		Source: Source{"E41 E43", "stoichiometry", Computed},
	}
}

var (
	neutralizerCalcite = neutralizer{"calcite", "calcite neutralizer", Figure{},
		calciteBed.rated(neutralizerFacts(5.5, Source{"E38 E-NEUT-1", "drinking water guide on pH adjustment: calcite above pH 6", Verified}, "calcite"))}
	neutralizerBlend = neutralizer{"calcite_magnesia", "calcite and magnesia neutralizer", magnesiaShare,
		calciteBed.rated(neutralizerFacts(4.5, Source{"E38 E39 E-NEUT-1", "drinking water guide on pH adjustment: magnesium oxide below pH 6", Verified}, "calcite_magnesia"))}
)

func (n *neutralizer) Kind() Kind      { return AcidNeutralizer }
func (n *neutralizer) Variant() string { return n.variant }
func (n *neutralizer) Title() string   { return n.title }
func (n *neutralizer) Facts() *Facts   { return n.facts }

// Apply lets magnesia take its share of the free CO2, and calcite dissolve to
// the saturation that the contact reaches.
func (n *neutralizer) Apply(in *water.Water) (Outcome, error) {
	o := n.facts.enter(in)
	approach := calciteApproach.Value
	if o.Outside.Has(neutralizerPH) && in.PH < n.facts.Windows[neutralizerPH].Low {
		approach = calciteApproach.Low
		o.Notes |= NotePartialNeutral
	}
	out, calcite, magnesia, err := Neutralize(in, approach, n.magnesia.Value)
	if err != nil {
		return o, fmt.Errorf("%s: %w", n.title, err)
	}
	o.Out = out
	o.Use.Medium = (float64(calcite)*molarCaCO3 + float64(magnesia)*molarMgO) / 1000
	if calcite+magnesia > 0 {
		o.Notes |= NoteAddsLoad
	}
	return o, nil
}

// Neutralize brings a water to a saturation index of calcite (0 or less) in a
// closed vessel, after magnesia has taken a share of its free CO2. It returns
// the water and what dissolved of each medium.
func Neutralize(in *water.Water, index, magnesiaShare float64) (out water.Water, calcite, magnesia unit.MmolPerL, err error) {
	out = *in
	if magnesiaShare > 0 && in.Saturation().Calcite < index {
		magnesia = in.CO2 * unit.MmolPerL(magnesiaShare/2)
		out.Ion[water.Magnesium] += magnesia
		if out, err = out.WithCarbon(in.TotalCarbon()); err != nil {
			return out, 0, 0, err
		}
	}
	out, calcite, err = out.Calcite(index)
	return out, calcite, magnesia, err
}

func (n *neutralizer) Size(in *water.Water, d Duty) Size {
	area := areaFor(d.PeakFlow, calciteBed.service.Value)
	z := calciteBed.fill(d, in.Temperature, unit.Litres(1000*area*float64(unit.Inches(calciteDepth.Low))))
	calciteBed.backwashed(&z, d, dirt(in), calciteDays.Value)
	z.Feed = d
	stock := float64(z.Medium) * calciteBed.density // kg
	months, refill := 12.0, stock*calciteRefill.Value
	if o, err := n.Apply(in); err == nil && o.Use.Medium > 0 {
		perMonth := o.Use.Medium / 1000 * float64(d.YearVolume) / 12
		months = max(0.25, refill/perMonth)
	}
	z.Upkeep = []Upkeep{
		{Task: fmt.Sprintf("top the bed up with %.0f lb of medium", unit.Kilograms(refill).Pounds()), Every: months, Hours: 1,
			Trigger: "pH behind it below 6.8, or the bed a quarter down", Part: n.facts.Medium, Parts: unit.Kilograms(refill).Pounds(), Source: practice},
		{Task: "test pH behind the neutralizer", Every: 1, Hours: 0.1, Source: practice},
	}
	return z
}
