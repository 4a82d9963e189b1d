package process

import (
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// carbon is a bed or block of activated carbon. It destroys free chlorine and,
// more slowly, chloramine:
//
//	HOCl + C   -> CO + H+ + Cl-             (ledger E10)
//	NH2Cl + H2O + C -> CO + NH4+ + Cl-
//
// at first-order rates in the empty-bed contact time. Taste and some organics
// go too, until the carbon is full; no figure is promised for them.
type carbon struct {
	kind           Kind
	variant, title string
	contact        Figure  // empty-bed contact time at peak flow, min
	free, combined Figure  // rates at 20 degC and pH 7, 1/min
	bed            *medium // nil for a block
	facts          *Facts
}

var (
	ebctShort = Figure{"carbon_ebct", 5, 0.5, 10, "min", "empty-bed contact time for free chlorine",
		Source{"E05 F-GAC-EBCT F-GAC-RATE", "carbon supplier note (name withheld): 5-10 min, 3 min not always complete; water-industry learning-centre page: 2-3 gpm per ft3", Verified}}
	ebctLong = Figure{"carbon_ebct_chloramine", 10, 10, 20, "min", "empty-bed contact time for chloramine or organics",
		Source{"E07 E09 F-CHLORAMINE-EBCT", "common practice; organics 8-20 min, trade note", CommonPractice}}
	ebctCatalytic = Figure{"catalytic_carbon_ebct", 5, 3, 10, "min", "empty-bed contact time of catalytic carbon for chloramine",
		Source{"E07 F-CHLORAMINE-EBCT", "common practice", CommonPractice}}
	ebctCatalyticLong = Figure{"catalytic_carbon_ebct_long", 10, 5, 10, "min", "empty-bed contact time of catalytic carbon for strong chloramine, cold or above pH 8",
		Source{"E07 E08 F-CHLORAMINE-EBCT", "common practice: the upper end of 3-10 min", CommonPractice}}
	ebctBlock = Figure{"carbon_block_ebct", 0.25, 0.08, 0.33, "min", "contact time in a carbon block at its rated flow",
		Source{"E05", "home carbon block works at 5-20 s on low chlorine", CommonPractice}}

	// 90 % of free chlorine in the 2.5 min of the usual design rate; the same
	// bed takes 50 % of the chloramine.
	rateFree = Figure{"carbon_rate_free", math.Ln10 / 2.5, math.Ln10 / 3.7, 0, "1/min", "free chlorine on granular carbon, 20 degC, pH 7",
		Source{"D04 F-GAC-RATE", "de Dardel ion-exchange notes, limits of oxidants (2010): 90 and 50 % in the same bed; water-industry learning-centre page: 2-3 gpm per ft3 is 2.5-3.7 min", Computed}}
	rateCombined = Figure{"carbon_rate_chloramine", math.Ln2 / 2.5, math.Ln2 / 3.7, 0, "1/min", "chloramine on granular carbon, 20 degC, pH 7",
		Source{"D04 F-GAC-RATE", "de Dardel ion-exchange notes, limits of oxidants (2010): 90 and 50 % in the same bed", Computed}}
	rateCatalytic = Figure{"catalytic_carbon_rate_chloramine", 3 * math.Ln2 / 2.5, 2 * math.Ln2 / 3.7, 0, "1/min", "chloramine on catalytic carbon, 20 degC, pH 7",
		Source{"E07", "contact times a third of those on ordinary carbon", CommonPractice}}
	rateBlock = Figure{"carbon_block_rate_free", 12, 8, 0, "1/min", "free chlorine in a carbon block, whose grains are fine",
		Source{"E05", "home carbon block works at 5-20 s on low chlorine: 95 % in 15 s", CommonPractice}}
	ratePH = Figure{"carbon_rate_ph", 4, 0, 0, "x", "rate at pH 5-6 over rate at pH 8-10",
		Source{"E08 F-GAC-PH", "carbon supplier note (name withheld)", Verified}}
	rateWarm = Figure{"carbon_rate_warm", 2, 0, 0, "x", "rate for each 20 degC",
		Source{"E08 F-GAC-T", "carbon supplier note (name withheld)", Verified}}
	carbonCapacity = Figure{"carbon_capacity", 1, 0.5, 6, "g Cl2 per g carbon", "before significant breakthrough",
		Source{"E06 F-GAC-CAP", "carbon supplier note (name withheld): 1 g/g; another page 6", Verified}}
	sulfideOnCarbon = Figure{"carbon_sulfide", 0.3, 0.3, 1, "mg/L", "sulfide that carbon takes up for a useful time",
		Source{"E73", "common practice", CommonPractice}}
	carbonMonths = Figure{"carbon_months", 24, 12, 60, "months", "longest life of a carbon bed, which fills with organics and grows bacteria", practice}
	blockMonths  = Figure{"carbon_block_months", 6, 3, 12, "months", "longest life of a carbon block", practice}
	carbonDays   = Figure{"carbon_backwash_days", 14, 7, 30, "days of use", "longest run of a carbon bed between backwashes", practice}
	blockDrop    = Figure{"carbon_block_drop", 5, 3, 10, "psi", "clean block at its rated flow", practice}
	blockFlow    = Figure{"carbon_block_flow", 4, 2, 6, "gpm", "rated flow of a 4.5 x 20 in block", practice}
	blockMass    = Figure{"carbon_block_mass", 1800, 1200, 2200, "g", "carbon in a 4.5 x 20 in block", practice}
)

var carbonBed = medium{
	name: "granular carbon", grain: 1.0e-3, void: 0.45, density: 0.48,
	service:  Figure{"carbon_service", 5, 3, 7, "gpm/ft2", "granular carbon; the contact time sets the size first", practice},
	backwash: Figure{"carbon_backwash", 8, 6, 10, "gpm/ft2", "granular carbon", practice},
}

// catalyticBed is such a bed of grains that are treated to break chloramine.
var catalyticBed = func() medium { m := carbonBed; m.name = "catalytic carbon"; return m }()

func carbonFacts(needs Needs, chloramine bool) *Facts {
	f := &Facts{
		Windows: []Window{
			{AnyIron, math.Inf(-1), 0.3, Fouls, "iron coats the carbon and shuts its pores", practice},
			{Turbidity, math.Inf(-1), 5, Fouls, "silt plugs the bed", practice},
			{Temperature, 1, 45, Damages, "the tank cracks in frost", practice},
			{Sulfide, math.Inf(-1), sulfideOnCarbon.Value, Reduced, "sulfide uses the carbon up and breaks through", sulfideOnCarbon.Source},
		},
		Protects: []Protection{
			{"", "chlorine that eats the anion resin", Source{"D02 F-OX-SBA", "de Dardel ion-exchange notes, limits of oxidants (2010): 0.1 mg/L", Verified}},
			{ReverseOsmosis, "chlorine that ruins a thin-film membrane", Source{"E66", "1,000 ppm-hours lifetime", FromMemory}},
		},
		Needs:  needs,
		Medium: "carbon",
		Claim:  "takes out free chlorine and some organics, and leaves every ion, iron and hardness",
		Source: Source{"E05 E10", "carbon supplier note (name withheld)", Verified},
	}
	if !chloramine {
		f.Windows = append(f.Windows, Window{Chloramine, math.Inf(-1), 0.1, Reduced, "much of the chloramine passes so short a contact",
			Source{"E07 D04", "de Dardel ion-exchange notes, limits of oxidants (2010): half of the chloramine stays", Verified}})
	}
	return f
}

var (
	carbonGranular = carbon{Carbon, "granular", "granular carbon, 5 min contact", ebctShort, rateFree, rateCombined, &carbonBed,
		carbonBed.rated(carbonFacts(NeedsDrain|NeedsFrostFree, false))}
	carbonDeep = carbon{Carbon, "granular_10min", "granular carbon, 10 min contact", ebctLong, rateFree, rateCombined, &carbonBed,
		carbonBed.rated(carbonFacts(NeedsDrain|NeedsFrostFree, true))}
	carbonBlock = carbon{Carbon, "block", "carbon block cartridge", ebctBlock, rateBlock, Figure{}, nil,
		carbonFacts(NeedsFrostFree, false)}
	carbonCatalytic = carbon{CatalyticCarbon, "granular", "catalytic carbon, 5 min contact", ebctCatalytic, rateFree, rateCatalytic, &catalyticBed,
		catalyticBed.rated(carbonFacts(NeedsDrain|NeedsFrostFree, true))}
	carbonCatalyticDeep = carbon{CatalyticCarbon, "granular_10min", "catalytic carbon, 10 min contact", ebctCatalyticLong, rateFree, rateCatalytic, &catalyticBed,
		catalyticBed.rated(carbonFacts(NeedsDrain|NeedsFrostFree, true))}
)

func (c *carbon) Kind() Kind      { return c.kind }
func (c *carbon) Variant() string { return c.variant }
func (c *carbon) Title() string   { return c.title }
func (c *carbon) Facts() *Facts   { return c.facts }

// passes returns the share of an oxidant that leaves the bed.
func (c *carbon) passes(rate Figure, ph float64, t unit.Celsius) float64 {
	// E08 prints two ranges of pH; between their middles, 5.5 and 9, the rate
	// falls steadily on a log scale.
	k := rate.Value * math.Pow(ratePH.Value, (7-min(9, max(5.5, ph)))/3.5) * math.Pow(rateWarm.Value, (float64(t)-20)/20)
	return math.Exp(-k * c.contact.Value)
}

// Apply turns the chlorine destroyed into chloride and acid, and leaves the
// ammonia of chloramine in the water.
func (c *carbon) Apply(in *water.Water) (Outcome, error) {
	o := c.facts.enter(in)
	m := &o.Out.Matter
	free := m.FreeChlorine * unit.MgPerL(1-c.passes(c.free, in.PH, in.Temperature))
	combined := m.Chloramine * unit.MgPerL(1-c.passes(c.combined, in.PH, in.Temperature))
	m.FreeChlorine -= free
	m.Chloramine -= combined
	m.Unknown &^= water.UnknownChlorine
	if c.combined.Value > 0 {
		m.Unknown &^= water.UnknownChloramine
	}
	o.Out.Sulfide = max(0, o.Out.Sulfide-mmol(unit.MgPerL(sulfideOnCarbon.Value), molarH2S))
	o.Use.Medium = float64(free+combined) / 1000 / carbonCapacity.Value
	if free+combined == 0 && o.Out.Sulfide == in.Sulfide {
		return o, nil
	}
	o.Out.Ion[water.Chloride] += mmol(free+combined, molarCl2)
	o.Out.Ion[water.Ammonium] += mmol(combined, molarCl2)
	return o, o.settle(c, in.TotalCarbon())
}

func (c *carbon) Size(in *water.Water, d Duty) Size {
	used := 0.0 // g a month
	if o, err := c.Apply(in); err == nil {
		used = o.Use.Medium * float64(d.YearVolume) / 12
	}
	months := func(longest, mass float64) float64 {
		if used > 0 {
			return min(longest, mass/used)
		}
		return longest
	}
	if c.bed == nil {
		units := math.Max(1, math.Ceil(d.PeakFlow.GallonsPerMinute()/blockFlow.Value))
		z := Size{Text: "4.5 x 20 in carbon block", Class: "cartridge_20in_wide", Units: int(units), Feed: d,
			Drop: unit.PSI(blockDrop.Value * d.PeakFlow.GallonsPerMinute() / (blockFlow.Value * units))}
		if units > 1 {
			z.Text = fmt.Sprintf("%g of %s", units, z.Text)
		}
		if z.Units > mostUnits {
			z.Notes |= NoteManyUnits
		}
		z.Upkeep = []Upkeep{
			{Task: "change the carbon block", Every: months(blockMonths.Value, blockMass.Value*units), Trigger: "chlorine on a test strip behind it, or pressure drop up 10 psi",
				Hours: 0.25, Part: "carbon_block", Parts: units, Source: practice},
			{Task: "test for chlorine behind the carbon", Every: 1, Hours: 0.1, Source: practice},
		}
		return z
	}
	z := c.bed.fill(d, in.Temperature, unit.Litres(float64(d.PeakFlow)*c.contact.Value))
	c.bed.backwashed(&z, d, dirt(in), carbonDays.Value)
	z.Feed = d
	z.Upkeep = []Upkeep{
		{Task: "replace the carbon", Every: months(carbonMonths.Value, float64(z.Medium)*c.bed.density*1000), Trigger: "chlorine on a test strip behind it",
			Hours: 2, Part: string(c.kind), Parts: z.Medium.CubicFeet(), Source: practice},
		{Task: "test for chlorine behind the carbon", Every: 1, Hours: 0.1, Source: practice},
	}
	return z
}
