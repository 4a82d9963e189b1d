package process

// Orders returns the rules of place between stages. A pair that no rule names
// may stand either way: a degasser goes before or after reverse osmosis.
// Every stage protects the one behind it, and the mixed bed, which cannot be
// cleaned on site, comes last.
func Orders() []Order { return append([]Order(nil), orders[:]...) }

// place is the source of most rules of place.
var place = Source{"", "treatment ledger section 5.9, order and why; common practice", CommonPractice}

var orders = [...]Order{
	{First: Aeration, Then: OxidizingMediaFilter, Why: "the filter needs the oxygen and holds the floc", Source: Source{"E20 E21", "handbook treatment table; Oklahoma OAC 252:626-9-7", Verified}},
	{First: OxidantFeed, Then: OxidizingMediaFilter, Why: "the filter holds the floc and finishes manganese with the chlorine that is left", Source: Source{"E-SELECT4 E-CL2-GUIDE", "Virginia extension publication 356-481", Verified}},
	{First: Aeration, Then: OxidantFeed, Why: "air takes out for nothing what oxidant would be spent on", Source: place},
	{First: Aeration, Then: SedimentFilter, Why: "the floc that air makes must be filtered", Source: Source{"E21", "Oklahoma OAC 252:626-9-7", Verified}, ThenVariant: "depth_bed"},
	{First: OxidantFeed, Then: SedimentFilter, Why: "the floc that the oxidant makes must be filtered", Source: Source{"E-SELECT4", "Virginia extension publication 356-481: chlorinator, then mechanical filter", Verified}, ThenVariant: "depth_bed"},
	{First: SedimentFilter, FirstVariant: "5um", Then: SedimentFilter, ThenVariant: "1um", Why: "coarse before fine, or the fine one plugs", Source: place},
	{First: SedimentFilter, FirstVariant: "depth_bed", Then: SedimentFilter, ThenVariant: "1um", Why: "coarse before fine, or the fine one plugs", Source: place},
	{First: SedimentFilter, FirstVariant: "depth_bed", Then: SedimentFilter, ThenVariant: "5um", Why: "coarse before fine, or the fine one plugs", Source: place},
	{First: AcidNeutralizer, Then: OxidizingMediaFilter, Why: "the filter works only above its pH, which the neutralizer gives", Source: Source{"E19 E20", "handbook treatment table", Verified}},
	{First: AcidNeutralizer, Then: OxidantFeed, Why: "iron and manganese oxidize faster at the higher pH", Source: Source{"E-CL2-GUIDE E-KMNO4-GUIDE", "handbooks", FromMemory}},
	{First: AcidNeutralizer, Then: Softener, ThenExcept: "ferrous", Why: "the softener takes the hardness that calcite adds", Source: Source{"E41", "stoichiometry", Computed}},
	{First: AcidNeutralizer, Then: ReverseOsmosis, Why: "the membrane takes out what calcite adds", Source: Source{"E41", "stoichiometry", Computed}},
	{First: OxidizingMediaFilter, Then: Carbon, Why: "the filter uses the chlorine that carbon would destroy", Source: Source{"E-SELECT5", "Virginia extension publication 356-481: oxidizing filter, then carbon", Verified}},
	{First: OxidizingMediaFilter, Then: CatalyticCarbon, Why: "the filter uses the chlorine that carbon would destroy", Source: Source{"E-SELECT5", "Virginia extension publication 356-481: oxidizing filter, then carbon", Verified}},
	{First: OxidizingMediaFilter, Then: OrganicsTrap, Why: "iron with organics fouls the trap for good", Source: place},
	{First: OxidizingMediaFilter, Then: ReverseOsmosis, Why: "iron and manganese foul the membrane", Source: Source{"E65", "residential RO manual (name withheld), table B", Verified}},
	{First: OxidizingMediaFilter, Then: Degasser, Why: "air turns dissolved iron into rust in the tower", Source: place},
	{First: OxidantFeed, Then: Carbon, Why: "carbon takes the oxidant out before resin or a membrane", Source: Source{"D02 E66", "de Dardel ion-exchange notes, limits of oxidants (2010)", Verified}},
	{First: OxidantFeed, Then: CatalyticCarbon, Why: "carbon takes the oxidant out before resin or a membrane", Source: Source{"D02 E66", "de Dardel ion-exchange notes, limits of oxidants (2010)", Verified}},
	{First: Disinfection, FirstVariant: "chlorine", Then: Carbon, Why: "carbon takes the chlorine out before resin or a membrane", Source: Source{"D02 E66", "de Dardel ion-exchange notes, limits of oxidants (2010)", Verified}},
	{First: Disinfection, FirstVariant: "chlorine", Then: CatalyticCarbon, Why: "carbon takes the chlorine out before resin or a membrane", Source: Source{"D02 E66", "de Dardel ion-exchange notes, limits of oxidants (2010)", Verified}},
	{First: Softener, FirstVariant: "ferrous", Then: Aeration, Why: "iron must still be ferrous when the softener takes it: no air or oxidant before it", Source: ferrousFirst},
	{First: Softener, FirstVariant: "ferrous", Then: OxidantFeed, Why: "iron must still be ferrous when the softener takes it: no air or oxidant before it", Source: ferrousFirst},
	{First: Softener, FirstVariant: "ferrous", Then: OxidizingMediaFilter, Why: "iron must still be ferrous when the softener takes it: no air or oxidant before it", Source: ferrousFirst},
	{First: Softener, FirstVariant: "ferrous", Then: AcidNeutralizer, Why: "at a higher pH the iron turns ferric on the grains and beads", Source: ferrousFirst},
	{First: Softener, FirstVariant: "ferrous", Then: Degasser, Why: "iron must still be ferrous when the softener takes it: no air or oxidant before it", Source: ferrousFirst},
	{First: Carbon, Then: Softener, ThenExcept: "ferrous", Why: "chlorine cuts the crosslinks of the resin", Source: Source{"D01", "de Dardel ion-exchange notes, limits of oxidants (2010)", Verified}},
	{First: Carbon, Then: OrganicsTrap, Why: "chlorine eats anion resin", Source: Source{"D02", "de Dardel ion-exchange notes, limits of oxidants (2010)", Verified}},
	{First: CatalyticCarbon, Then: Softener, ThenExcept: "ferrous", Why: "chlorine cuts the crosslinks of the resin", Source: Source{"D01", "de Dardel ion-exchange notes, limits of oxidants (2010)", Verified}},
	{First: CatalyticCarbon, Then: OrganicsTrap, Why: "chlorine eats anion resin", Source: Source{"D02", "de Dardel ion-exchange notes, limits of oxidants (2010)", Verified}},
	{First: Carbon, Then: ReverseOsmosis, Why: "chlorine destroys a thin-film membrane", Source: Source{"E66", "1,000 ppm-hours lifetime", FromMemory}},
	{First: CatalyticCarbon, Then: ReverseOsmosis, Why: "chlorine destroys a thin-film membrane", Source: Source{"E66", "1,000 ppm-hours lifetime", FromMemory}},
	{First: OrganicsTrap, Then: ReverseOsmosis, Why: "organics coat the membrane", Source: place},
	{First: Softener, Then: ReverseOsmosis, Why: "hardness scales the membrane", Source: Source{"E65 E64", "residential RO manual (name withheld), table B", Verified}},
	{First: SedimentFilter, Then: ReverseOsmosis, Why: "particles plug the feed channel", Source: Source{"E67", "RO feed parameter guide", Verified}},
	{First: SedimentFilter, Then: Disinfection, ThenVariant: "uv", Why: "particles shade microbes", Source: Source{"E77", "UV dose", FromMemory}},
	{First: OxidizingMediaFilter, Then: Disinfection, ThenVariant: "uv", Why: "iron shades the lamp and coats its sleeve", Source: Source{"E77", "Fe < 0.3, Mn < 0.05", FromMemory}},
	{First: ReverseOsmosis, Then: Disinfection, ThenVariant: "uv", Why: "the lamp stands after storage", Source: place},
	{First: Degasser, Then: Disinfection, ThenVariant: "uv", Why: "the lamp stands after storage", Source: place},
}

var ferrousFirst = Source{"E37", "trade articles 2004, 2020: low oxygen; treatment ledger section 5.9", Verified}

// Binds reports whether the rule speaks of these two stages.
func (o Order) Binds(first, then Stage) bool {
	return o.First == first.Kind() && o.Then == then.Kind() &&
		(o.FirstVariant == "" || o.FirstVariant == first.Variant()) &&
		(o.ThenVariant == "" || o.ThenVariant == then.Variant()) &&
		(o.ThenExcept == "" || o.ThenExcept != then.Variant())
}

// Misplaced returns the first rule of place that a train breaks, the well's
// end first, and whether it breaks one.
func Misplaced(train []Stage) (Order, bool) {
	for i, near := range train {
		for _, far := range train[i+1:] {
			for _, o := range orders {
				if o.Binds(far, near) {
					return o, true
				}
			}
		}
	}
	return Order{}, false
}
