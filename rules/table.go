package rules

import "forebed/chem/analyte"

// row describes one quantity: the name that packs use, its words, the units
// it may be compared in, and which analyte of a report it is read from.
type row struct {
	id        string
	title     string // "dissolved iron"; of a flag, the sentence when it is so
	absent    string // of a flag, the sentence when it is not so
	measure   measure
	substance analyte.ID   // of a concentration: whose mass, charge and bases count
	read      []analyte.ID // of a report; empty for what no report states
	settle    []analyte.ID // the tests that settle it; read, if empty
}

// table has a row for every quantity.
var table = [numQuantities]row{
	qPH:                   {id: "ph", title: "pH", measure: acidity, read: []analyte.ID{"ph"}},
	qTemperature:          {id: "temperature", title: "temperature", measure: warmth, read: []analyte.ID{"temperature"}},
	qCalcium:              {id: "calcium", title: "calcium", measure: concentration, substance: "calcium", read: []analyte.ID{"calcium"}},
	qMagnesium:            {id: "magnesium", title: "magnesium", measure: concentration, substance: "magnesium", read: []analyte.ID{"magnesium"}},
	qSodium:               {id: "sodium", title: "sodium", measure: concentration, substance: "sodium", read: []analyte.ID{"sodium"}},
	qPotassium:            {id: "potassium", title: "potassium", measure: concentration, substance: "potassium", read: []analyte.ID{"potassium"}},
	qAmmonium:             {id: "ammonium", title: "ammonium", measure: concentration, substance: "ammonium", read: []analyte.ID{"ammonium"}},
	qStrontium:            {id: "strontium", title: "strontium", measure: concentration, substance: "strontium", read: []analyte.ID{"strontium"}},
	qBarium:               {id: "barium", title: "barium", measure: concentration, substance: "barium", read: []analyte.ID{"barium"}},
	qChloride:             {id: "chloride", title: "chloride", measure: concentration, substance: "chloride", read: []analyte.ID{"chloride"}},
	qSulfate:              {id: "sulfate", title: "sulfate", measure: concentration, substance: "sulfate", read: []analyte.ID{"sulfate"}},
	qNitrate:              {id: "nitrate", title: "nitrate", measure: concentration, substance: "nitrate", read: []analyte.ID{"nitrate"}},
	qFluoride:             {id: "fluoride", title: "fluoride", measure: concentration, substance: "fluoride", read: []analyte.ID{"fluoride"}},
	qBicarbonate:          {id: "bicarbonate", title: "bicarbonate", measure: concentration, substance: "bicarbonate", read: []analyte.ID{"bicarbonate"}},
	qHardness:             {id: "hardness", title: "hardness", measure: concentration, substance: "hardness", read: []analyte.ID{"hardness"}},
	qAlkalinity:           {id: "alkalinity", title: "alkalinity", measure: concentration, substance: "alkalinity", read: []analyte.ID{"alkalinity"}},
	qCarbonDioxide:        {id: "carbon_dioxide", title: "free carbon dioxide", measure: concentration, substance: "carbon_dioxide", read: []analyte.ID{"carbon_dioxide"}},
	qSilica:               {id: "silica", title: "silica", measure: concentration, substance: "silica", read: []analyte.ID{"silica"}},
	qHydrogenSulfide:      {id: "hydrogen_sulfide", title: "hydrogen sulfide", measure: concentration, substance: "hydrogen_sulfide", read: []analyte.ID{"hydrogen_sulfide"}},
	qIronDissolved:        {id: "iron_dissolved", title: "dissolved iron", measure: concentration, substance: "iron", read: []analyte.ID{"iron"}},
	qIronParticulate:      {id: "iron_particulate", title: "particulate iron", measure: concentration, substance: "iron", read: []analyte.ID{"iron"}},
	qIronTotal:            {id: "iron_total", title: "total iron", measure: concentration, substance: "iron", read: []analyte.ID{"iron"}},
	qManganeseDissolved:   {id: "manganese_dissolved", title: "dissolved manganese", measure: concentration, substance: "manganese", read: []analyte.ID{"manganese"}},
	qManganeseParticulate: {id: "manganese_particulate", title: "particulate manganese", measure: concentration, substance: "manganese", read: []analyte.ID{"manganese"}},
	qManganese:            {id: "manganese", title: "total manganese", measure: concentration, substance: "manganese", read: []analyte.ID{"manganese"}},
	qMetals:               {id: "iron_and_manganese", title: "iron and manganese together", measure: concentration, read: []analyte.ID{"iron", "manganese"}},
	qFreeChlorine:         {id: "free_chlorine", title: "free chlorine", measure: concentration, substance: "free_chlorine", read: []analyte.ID{"free_chlorine"}},
	qChloramine:           {id: "chloramine", title: "chloramine (combined chlorine)", measure: concentration, substance: "combined_chlorine", read: []analyte.ID{"combined_chlorine", "total_chlorine", "free_chlorine"}},
	qTurbidity:            {id: "turbidity", title: "turbidity", measure: cloudiness, read: []analyte.ID{"turbidity"}},
	qSuspendedSolids:      {id: "suspended_solids", title: "suspended solids", measure: concentration, substance: "suspended_solids", read: []analyte.ID{"suspended_solids"}, settle: []analyte.ID{"turbidity"}},
	qTOC:                  {id: "toc", title: "total organic carbon", measure: concentration, substance: "toc", read: []analyte.ID{"toc"}},
	qTannin:               {id: "tannin", title: "tannin", measure: concentration, substance: "tannin", read: []analyte.ID{"tannin"}},
	qOxygen:               {id: "oxygen", title: "dissolved oxygen", measure: concentration, substance: "dissolved_oxygen", read: []analyte.ID{"dissolved_oxygen"}},
	qOxygenPerIron:        {id: "oxygen_per_iron", title: "dissolved oxygen as a share of dissolved iron", measure: percent, settle: []analyte.ID{"dissolved_oxygen", "iron"}},
	qTDS:                  {id: "tds", title: "total dissolved solids", measure: concentration, substance: "tds", read: []analyte.ID{"tds"}},
	qCationLoad:           {id: "cation_load", title: "load on the cation half", measure: charge},
	qAnionLoad:            {id: "anion_load", title: "load on the anion half", measure: charge},
	qCarbonDioxideShare:   {id: "carbon_dioxide_share", title: "share of carbon dioxide in the anion load", measure: percent, settle: []analyte.ID{"ph", "alkalinity"}},
	qSilicaShare:          {id: "silica_share", title: "share of silica in the anion load", measure: percent, settle: []analyte.ID{"silica"}},
	qConductivity:         {id: "conductivity", title: "conductivity", measure: conductivity, read: []analyte.ID{"conductivity"}},
	qColor:                {id: "color", title: "color", measure: colour, read: []analyte.ID{"color"}},
	qORP:                  {id: "orp", title: "oxidation-reduction potential", measure: potential, read: []analyte.ID{"orp"}},
	qNitrite:              {id: "nitrite", title: "nitrite", measure: concentration, substance: "nitrite", read: []analyte.ID{"nitrite"}},
	qNitrateNitrite:       {id: "nitrate_nitrite", title: "nitrate and nitrite together", measure: concentration, substance: "nitrate_nitrite", read: []analyte.ID{"nitrate_nitrite"}},
	qArsenic:              {id: "arsenic", title: "arsenic", measure: concentration, substance: "arsenic", read: []analyte.ID{"arsenic"}},
	qLead:                 {id: "lead", title: "lead", measure: concentration, substance: "lead", read: []analyte.ID{"lead"}},
	qCopper:               {id: "copper", title: "copper", measure: concentration, substance: "copper", read: []analyte.ID{"copper"}},
	qZinc:                 {id: "zinc", title: "zinc", measure: concentration, substance: "zinc", read: []analyte.ID{"zinc"}},
	qUranium:              {id: "uranium", title: "uranium", measure: concentration, substance: "uranium", read: []analyte.ID{"uranium"}},
	qRadium:               {id: "radium", title: "radium-226 and radium-228 together", measure: activity, read: []analyte.ID{"radium"}},
	qRadon:                {id: "radon", title: "radon in the water", measure: activity, read: []analyte.ID{"radon"}},
	qGrossAlpha:           {id: "gross_alpha", title: "gross alpha activity", measure: activity, read: []analyte.ID{"gross_alpha"}},
	qSelenium:             {id: "selenium", title: "selenium", measure: concentration, substance: "selenium", read: []analyte.ID{"selenium"}},
	qCadmium:              {id: "cadmium", title: "cadmium", measure: concentration, substance: "cadmium", read: []analyte.ID{"cadmium"}},
	qChromium:             {id: "chromium", title: "chromium", measure: concentration, substance: "chromium", read: []analyte.ID{"chromium"}},
	qMercury:              {id: "mercury", title: "mercury", measure: concentration, substance: "mercury", read: []analyte.ID{"mercury"}},
	qAntimony:             {id: "antimony", title: "antimony", measure: concentration, substance: "antimony", read: []analyte.ID{"antimony"}},
	qBeryllium:            {id: "beryllium", title: "beryllium", measure: concentration, substance: "beryllium", read: []analyte.ID{"beryllium"}},
	qThallium:             {id: "thallium", title: "thallium", measure: concentration, substance: "thallium", read: []analyte.ID{"thallium"}},
	qNickel:               {id: "nickel", title: "nickel", measure: concentration, substance: "nickel", read: []analyte.ID{"nickel"}},
	qBoron:                {id: "boron", title: "boron", measure: concentration, substance: "boron", read: []analyte.ID{"boron"}},
	qAluminum:             {id: "aluminum", title: "aluminum", measure: concentration, substance: "aluminum", read: []analyte.ID{"aluminum"}},
	qPFOA:                 {id: "pfoa", title: "PFOA", measure: concentration, read: []analyte.ID{"pfoa"}},
	qPFOS:                 {id: "pfos", title: "PFOS", measure: concentration, read: []analyte.ID{"pfos"}},
	qPFAS:                 {id: "pfas", title: "PFAS together", measure: concentration, read: []analyte.ID{"pfas"}},
	qTotalChlorine:        {id: "total_chlorine", title: "total chlorine", measure: concentration, substance: "total_chlorine", read: []analyte.ID{"total_chlorine"}},
	qOxidizability:        {id: "oxidizability", title: "oxidizability", measure: concentration, substance: "oxidizability", read: []analyte.ID{"oxidizability"}},
	qColiform:             {id: "total_coliform", title: "total coliform bacteria", measure: count, read: []analyte.ID{"total_coliform"}},
	qEColi:                {id: "e_coli", title: "E. coli", measure: count, read: []analyte.ID{"e_coli"}},
	qPlateCount:           {id: "plate_count", title: "heterotrophic plate count", measure: count, read: []analyte.ID{"heterotrophic_plate_count"}},
	qIronBacteria:         {id: "iron_bacteria", title: "iron bacteria were found", absent: "no iron bacteria were found", measure: yesNo, read: []analyte.ID{"iron_bacteria"}},
	qSulfurSmell:          {id: "sulfur_smell", title: "the water smells of sulfur (rotten eggs)", absent: "the water does not smell of sulfur", measure: yesNo, read: []analyte.ID{"odor"}, settle: []analyte.ID{"hydrogen_sulfide"}},
	qTreatedSample:        {id: "treated_sample", title: "the sample was taken after a treatment", absent: "the sample is untreated water", measure: yesNo},
	qStripOnly:            {id: "strip_only", title: "every result is a range, as a test strip gives", absent: "the report has exact results", measure: yesNo},
	qIronFormKnown:        {id: "iron_form_known", title: "the form of the iron is known", absent: "iron was reported without its form", measure: yesNo, settle: []analyte.ID{"iron"}},
	qSampleAge:            {id: "sample_age", title: "age of the sample", measure: days},
	qChargeBalance:        {id: "charge_balance_error", title: "charge-balance error", measure: percent, settle: []analyte.ID{"calcium", "magnesium", "sodium", "alkalinity", "chloride", "sulfate"}},
	qHardnessMismatch:     {id: "hardness_mismatch", title: "difference between hardness and calcium plus magnesium", measure: percent, settle: []analyte.ID{"hardness", "calcium", "magnesium"}},
	qTDSRatio:             {id: "tds_ratio", title: "measured dissolved solids over the sum of the ions", measure: plain, settle: []analyte.ID{"tds"}},
	qConductivityRatio:    {id: "conductivity_ratio", title: "conductivity of the ions over the measured one", measure: plain, settle: []analyte.ID{"conductivity"}},
	qImpossible:           {id: "impossible_value", title: "a value in the report cannot be right", absent: "no value is impossible", measure: yesNo},
	qResinVolume:          {id: "resin_volume", title: "volume of resin", measure: volume},
	qServiceFlow:          {id: "service_flow", title: "peak flow per volume of resin", measure: loading},
	qBedDepth:             {id: "bed_depth", title: "depth of the resin bed", measure: depth},
	qSeasonVolume:         {id: "season_volume", title: "rinse water a season", measure: volume},
	qFillVolume:           {id: "fill_volume", title: "rinse water from one fill", measure: volume},
	qFillMonths:           {id: "fill_months", title: "time one fill lasts", measure: months},
	qRinsesPerFill:        {id: "rinses_per_fill", title: "rinses from one fill", measure: plain},
	qIronPerFill:          {id: "iron_per_fill", title: "iron that one fill takes in, per litre of resin", measure: perResin, settle: []analyte.ID{"iron"}},
	qManganesePerFill:     {id: "manganese_per_fill", title: "manganese that one fill takes in, per litre of resin", measure: perResin, settle: []analyte.ID{"manganese"}},
	qSolidsPerFill:        {id: "solids_per_fill", title: "particles that one fill takes in, per litre of resin", measure: perResin, settle: []analyte.ID{"turbidity", "suspended_solids"}},
	qFeedPressure:         {id: "feed_pressure", title: "pressure of the supply", measure: pressure},
	qPressureLeft:         {id: "pressure_left", title: "pressure left at the nozzle", measure: pressure},
	qPeakFlow:             {id: "peak_flow", title: "peak flow", measure: flow},
	qWellFlow:             {id: "well_flow", title: "flow the well and pump can give", measure: flow},
	qIdleDays:             {id: "idle_days", title: "longest time without use", measure: days},
	qResidueLimit:         {id: "residue_limit", title: "dry residue at which a fill ends", measure: concentration},
	qRegeneratedOnSite:    {id: "regenerated_on_site", title: "the resin is regenerated on site", absent: "the resin is not regenerated on site", measure: yesNo},
	qExchanged:            {id: "exchanged", title: "the vessel is exchanged by a service", absent: "the vessel is not exchanged by a service", measure: yesNo},
	qHomeRegeneration:     {id: "home_regeneration", title: "regenerating the resin at home is considered", absent: "nobody means to regenerate the resin at home", measure: yesNo},
	qTypeTwoAnion:         {id: "type_two_anion", title: "the anion resin is type II or acrylic", absent: "the anion resin is type I", measure: yesNo},
	qChlorinated:          {id: "chlorinated", title: "the supply is chlorinated", absent: "the supply is not chlorinated", measure: yesNo, settle: []analyte.ID{"free_chlorine", "total_chlorine"}},
	qPrivateWell:          {id: "private_well", title: "the source is a private well", absent: "the source is not a private well", measure: yesNo},
	qDrinkingUse:          {id: "drinking_use", title: "some of the water is drawn to drink", absent: "none of the water is drawn to drink", measure: yesNo},
	qDrain:                {id: "drain", title: "there is a drain", absent: "there is no drain", measure: yesNo},
	qSeptic:               {id: "septic", title: "waste water goes to a septic system", absent: "waste water does not go to a septic system", measure: yesNo},
	qPower:                {id: "power", title: "there is electric power", absent: "there is no electric power", measure: yesNo},
	qFreezing:             {id: "freezing", title: "the place can freeze", absent: "the place does not freeze", measure: yesNo},
	qOutdoors:             {id: "outdoors", title: "the rig stands outdoors", absent: "the rig stands indoors", measure: yesNo},
	qClosedWellHouse:      {id: "closed_space", title: "the rig stands in a closed room or pit", absent: "the rig does not stand in a closed room or pit", measure: yesNo},
	qHotWater:             {id: "hot_water", title: "hot water is fed", absent: "cold water is fed", measure: yesNo},
	qSpray:                {id: "spray", title: "the water is sprayed", absent: "the water is not sprayed", measure: yesNo},
	qMetalPiping:          {id: "metal_piping", title: "metal pipes or fittings carry the product", absent: "no metal pipe carries the product", measure: yesNo},
	qAcidDose:             {id: "acid_dose", title: "acid is dosed or used for cleaning", absent: "no acid is used", measure: yesNo},
	qPumped:               {id: "pumped", title: "a pump raises the pressure", absent: "no pump raises the pressure", measure: yesNo},
	qShockChlorination:    {id: "shock_chlorination", title: "the well is to be shock-chlorinated", absent: "no shock chlorination is planned", measure: yesNo},
	qNextIsMembrane:       {id: "next_is_membrane", title: "a membrane stands next", absent: "no membrane stands next", measure: yesNo},
	qInstalled:            {id: "installed", title: "the stage is already installed", absent: "the stage is new", measure: yesNo},
	qStageFlux:            {id: "flow_per_area", title: "peak flow per area of the stage", measure: velocity},
	qStageLoading:         {id: "flow_per_medium", title: "peak flow per volume of medium", measure: loading},
	qContactTime:          {id: "contact_time", title: "contact time at peak flow", measure: minutes},
	qStageDrop:            {id: "pressure_drop", title: "pressure drop of the stage", measure: pressure},
	qMembraneEnd:          {id: "membrane_end_pressure", title: "pressure left over the salt at the end of the membrane", measure: pressure},
	qBackwashFlow:         {id: "backwash_flow", title: "backwash flow the stage needs", measure: flow},
	qBackwashShort:        {id: "backwash_short", title: "the backwash needs more than the well and pump give", absent: "the well and pump can give the backwash", measure: yesNo},
	qRecovery:             {id: "recovery", title: "recovery", measure: percent},
	qWastePerSeason:       {id: "waste_water", title: "waste water a season", measure: volume},
	qVariantAir:           {id: "oxidant_air", title: "the oxidant is air", absent: "the oxidant is not air", measure: yesNo},
	qVariantChlorine:      {id: "oxidant_chlorine", title: "the oxidant is chlorine", absent: "the oxidant is not chlorine", measure: yesNo},
	qVariantPermanganate:  {id: "oxidant_permanganate", title: "the oxidant is permanganate", absent: "the oxidant is not permanganate", measure: yesNo},
	qVariantMagnesia:      {id: "with_magnesia", title: "the medium contains magnesia", absent: "the medium contains no magnesia", measure: yesNo},
	qVariantTank:          {id: "with_tank", title: "the stage has a storage tank", absent: "the stage has no storage tank", measure: yesNo},
}

// stageTitles are the plain words of each kind of stage, in the order of kinds.
var stageTitles = [numKinds]string{
	"a sediment filter", "a carbon filter", "a catalytic carbon filter", "aeration", "an oxidant feed",
	"an oxidizing media filter", "a softener", "an acid neutralizer", "a degasser",
	"reverse osmosis", "an organics trap", "disinfection",
}

// rows is the table with the flags of the stages filled in.
var rows = func() *[numQuantities]row {
	all := table
	for i, k := range kinds {
		all[upstream(i)] = row{id: "after_" + string(k), measure: yesNo,
			title: stageTitles[i] + " stands upstream", absent: "no " + bare(stageTitles[i]) + " stands upstream"}
		all[downstream(i)] = row{id: "before_" + string(k), measure: yesNo,
			title: stageTitles[i] + " follows", absent: "no " + bare(stageTitles[i]) + " follows"}
	}
	return &all
}()

// byName finds a quantity by the name that packs use.
var byName = func() map[string]Quantity {
	m := make(map[string]Quantity, numQuantities)
	for q := range rows {
		m[rows[q].id] = Quantity(q)
	}
	return m
}()

// QuantityInfo describes a quantity that a condition may name.
type QuantityInfo struct {
	Name  string `json:"name"`  // as packs write it
	Title string `json:"title"` // plain words
	Units string `json:"units"` // the units its limits may have
}

// Quantities lists every quantity that a condition may name.
func Quantities() []QuantityInfo {
	all := make([]QuantityInfo, numQuantities)
	for q := range rows {
		r := &rows[q]
		all[q] = QuantityInfo{r.id, r.title, r.accepted()}
	}
	return all
}

// bare drops the article of a title.
func bare(title string) string {
	for _, a := range []string{"a ", "an "} {
		if len(title) > len(a) && title[:len(a)] == a {
			return title[len(a):]
		}
	}
	return title
}
