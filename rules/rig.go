package rules

import (
	"cmp"
	"errors"
	"fmt"
	"math"
	"slices"

	"forebed/chem/bed"
	"forebed/chem/process"
	"forebed/chem/unit"
	"forebed/schemas"
)

// RigVersion is the version field of the rig document.
const RigVersion = "forebed.rig/1"

// RigDocument is a rig as its owner writes it: every field may be left out.
// Resolve fills what is missing with defaults and lists each as an assumption.
type RigDocument struct {
	Version   string           `json:"version"`
	Name      string           `json:"name,omitempty"`
	Note      string           `json:"note,omitempty"`
	Vessels   []VesselDocument `json:"vessels,omitempty"`
	Line      *Line            `json:"arrangement,omitempty"`
	Use       UseDocument      `json:"use"`
	Endpoint  EndDocument      `json:"endpoint"`
	Prices    PriceDocument    `json:"prices"`
	Site      SiteDocument     `json:"site"`
	Installed []Installed      `json:"installed,omitempty"`
}

// VesselKind tells what happens to resin that is used up.
type VesselKind string

// The kinds of vessel.
const (
	KindTank      VesselKind = "tank"      // refilled on site with new resin; the old resin is thrown away
	KindCartridge VesselKind = "cartridge" // thrown away whole
	KindExchange  VesselKind = "exchange"  // swapped by a service that regenerates it elsewhere
)

// Line tells how several vessels stand.
type Line string

// The arrangements of several vessels.
const (
	LineSeries   Line = "series"   // lead and lag: the lead is swapped when it is spent
	LineParallel Line = "parallel" // they share the flow
)

// VesselDocument is one vessel.
type VesselDocument struct {
	Name        string      `json:"name,omitempty"`
	Kind        *VesselKind `json:"kind,omitempty"`
	Resin       *Resin      `json:"resin,omitempty"`
	CationShare *float64    `json:"cation_share,omitempty"` // of the resin volume
	Condition   *string     `json:"condition,omitempty"`    // new, regenerated, unknown
	Diameter    *Length     `json:"diameter,omitempty"`
	Depth       *Length     `json:"depth,omitempty"`
	TypeTwo     bool        `json:"anion_type_two,omitempty"`
	Owned       *bool       `json:"owned,omitempty"` // already bought, and filled
	Price       *Price      `json:"price,omitempty"` // of the vessel, without resin
	FillPrice   *Price      `json:"fill_price,omitempty"`
	FillHours   *float64    `json:"fill_hours,omitempty"`
}

// UseDocument is what the rig is for.
type UseDocument struct {
	Rinse         *Volume  `json:"rinse,omitempty"` // water through the vessel each time
	RinsesPerWeek *float64 `json:"rinses_per_week,omitempty"`
	MonthsPerYear *float64 `json:"months_per_year,omitempty"`
	FirstMonth    *int     `json:"first_month,omitempty"` // of the season, 1 to 12
	Growth        *float64 `json:"growth_percent_per_year,omitempty"`
	PeakFlow      *Flow    `json:"peak_flow,omitempty"` // through the vessel
	Plain         *Volume  `json:"plain,omitempty"`     // plain filtered water drawn beside the vessel, each time
	PlainFlow     *Flow    `json:"plain_flow,omitempty"`
	BusiestDay    *float64 `json:"rinses_on_busiest_day,omitempty"`
	HorizonYears  *int     `json:"horizon_years,omitempty"`
}

// EndDocument is when the water is no longer good enough.
type EndDocument struct {
	Residue     *float64 `json:"dry_residue_mg_per_l,omitempty"`
	Meter       *float64 `json:"meter_ppm,omitempty"`
	MeterFactor *float64 `json:"meter_ppm_per_us_per_cm,omitempty"`
}

// PriceDocument is what things cost. Equipment is by price key, such as
// "softener" or "reverse_osmosis/tank": the longest key that fits is used.
type PriceDocument struct {
	Currency  *string          `json:"currency,omitempty"`
	Year      *int             `json:"year,omitempty"`
	PerUSD    *float64         `json:"per_usd,omitempty"` // units of the currency for one US dollar, to convert the defaults
	Resin     *Price           `json:"resin,omitempty"`
	Exchange  *Price           `json:"exchange,omitempty"`
	Water     *Price           `json:"water,omitempty"`
	Sewer     *Price           `json:"sewer,omitempty"`
	Labour    *Price           `json:"labour,omitempty"`
	Disposal  *Price           `json:"resin_disposal,omitempty"`
	DIWater   *Price           `json:"di_water,omitempty"`
	Items     map[string]Price `json:"items,omitempty"` // consumables and spare parts by key
	Equipment map[string]Price `json:"equipment,omitempty"`
}

// SiteDocument is the place.
type SiteDocument struct {
	PrivateWell      *bool     `json:"private_well,omitempty"`
	Chlorinated      *bool     `json:"chlorinated,omitempty"`
	Drain            *bool     `json:"drain,omitempty"`
	Septic           *bool     `json:"septic,omitempty"`
	Power            *bool     `json:"power,omitempty"`
	Freezing         *bool     `json:"freezing,omitempty"`
	Outdoors         *bool     `json:"outdoors,omitempty"`
	ClosedWellHouse  *bool     `json:"closed_well_house,omitempty"`
	Pressure         *Pressure `json:"pressure,omitempty"`
	PumpFlow         *Flow     `json:"pump_flow,omitempty"`
	DrinkingUse      *bool     `json:"also_used_for_drinking,omitempty"`
	HomeRegeneration *bool     `json:"regenerates_at_home,omitempty"`
	HotWater         *bool     `json:"hot_water,omitempty"`
	SulfurSmell      *bool     `json:"sulfur_smell,omitempty"`
	Spray            *bool     `json:"spray,omitempty"`
	MetalPiping      *bool     `json:"metal_piping,omitempty"`
	Regenerated      *bool     `json:"regenerated_on_site,omitempty"`
	AcidDose         *bool     `json:"acid_used,omitempty"`
	Shock            *bool     `json:"shock_chlorination,omitempty"`
}

// Installed is a stage that stands there already.
type Installed struct {
	Kind    process.Kind `json:"kind"`
	Variant string       `json:"variant,omitempty"`
	Years   float64      `json:"years_old,omitempty"`
}

// Rig is a rig with every field settled.
type Rig struct {
	Name        string
	Vessels     []RigVessel
	Line        Line
	Use         Use
	Ends        bed.Ends
	Prices      Prices
	Site        Site
	Installed   []Installed
	Assumptions []Assumption // the fields that were left out, in document order
}

// RigVessel is one vessel of a rig.
type RigVessel struct {
	Name      string
	Kind      VesselKind
	Vessel    bed.Vessel    // in typical condition
	Condition bed.Condition // what its capacities are drawn from
	TypeTwo   bool          // anion resin of type II
	Owned     bool
	Price     *Price  // nil: default
	FillPrice *Price  // nil: by the price of resin or exchange
	FillHours float64 // of work to refill or swap
	Weighed   bool    // the resin was stated as a weight
}

// Use is the demand.
type Use struct {
	Rinse         unit.Litres
	RinsesPerWeek float64
	MonthsPerYear float64
	FirstMonth    int
	Growth        float64 // a year, 0.05 for 5 %
	PeakFlow      unit.LitresPerMinute
	Plain         unit.Litres
	PlainFlow     unit.LitresPerMinute
	BusiestDay    float64 // rinses
	HorizonYears  int
}

// Site is the place.
type Site struct {
	PrivateWell, Chlorinated, Drain, Septic, Power, Freezing, Outdoors, ClosedWellHouse   bool
	DrinkingUse, HomeRegeneration, HotWater, SulfurSmell, Spray, MetalPiping, Regenerated bool
	AcidDose, ShockChlorination                                                           bool
	Pressure                                                                              unit.Kilopascals
	PumpFlow                                                                              unit.LitresPerMinute
}

// weeksPerMonth turns months of use into weeks: 52 weeks in 12 months, so that
// half a year is 26 weeks.
const weeksPerMonth = 52.0 / 12

// Weeks returns the weeks of use a year.
func (u *Use) Weeks() float64 { return u.MonthsPerYear * weeksPerMonth }

// Rinses returns the rinses of the first year.
func (u *Use) Rinses() float64 { return u.Weeks() * u.RinsesPerWeek }

// YearVolume returns the water through the vessel in the first year.
func (u *Use) YearVolume() unit.Litres { return unit.Litres(u.Rinses() * float64(u.Rinse)) }

// PlainVolume returns the plain filtered water drawn in the first year.
func (u *Use) PlainVolume() unit.Litres { return unit.Litres(u.Rinses() * float64(u.Plain)) }

// ErrRig is the sentinel of a rig that no plan can be made for.
var ErrRig = errors.New("the rig cannot be planned for")

// ReadRig reads a rig document, YAML or JSON, and settles every field. file is
// what the user called the input. All faults are reported at once, with their
// places.
func ReadRig(file string, data []byte) (Rig, error) {
	var d RigDocument
	tree, err := schemas.DecodeTree("rig", file, data, &d)
	if err != nil {
		return Rig{}, err
	}
	rig, ps := d.settle()
	for i := range ps {
		ps[i].File = file
		ps[i].Line, ps[i].Column = tree.Place(ps[i].Field)
	}
	return rig, ps.Sorted().Err()
}

// Resolve settles every field of a rig: what the document leaves out gets its
// default, listed in Assumptions.
func (d *RigDocument) Resolve() (Rig, error) {
	rig, ps := d.settle()
	return rig, ps.Err()
}

// DefaultRig is the rig of somebody who states nothing.
func DefaultRig() Rig {
	rig, err := (&RigDocument{Version: RigVersion}).Resolve()
	if err != nil {
		panic(err) // the defaults are constants; the tests meet them
	}
	return rig
}

const habit = "common practice, no source: replace with your own"

// settler fills a rig in and notes what it assumed and what was wrong.
type settler struct {
	assumed  []Assumption
	problems schemas.Problems
}

// take returns the value that is stated, or the default and notes it.
func take[T any](s *settler, stated *T, fallback T, field, text, value string) T {
	if stated != nil {
		return *stated
	}
	s.assume(field, text, value, habit)
	return fallback
}

func (s *settler) assume(field, text, value, basis string) {
	s.assumed = append(s.assumed, Assumption{Field: field, Text: text, Value: value, Basis: basis})
}

func (s *settler) refuse(field, found, want, remedy string) {
	s.problems = append(s.problems, schemas.Problem{Field: field, Found: found, Want: want, Remedy: remedy, Err: ErrRig})
}

// within refuses a number outside its range.
func (s *settler) within(field string, x, low, high float64, remedy string) {
	if !(x >= low && x <= high) {
		s.refuse(field, fmt.Sprintf("%.6g", x), fmt.Sprintf("%.6g to %.6g", low, high), remedy)
	}
}

func (d *RigDocument) settle() (Rig, schemas.Problems) {
	s := &settler{}
	rig := Rig{Name: d.Name, Installed: slices.Clone(d.Installed)}
	rig.Use = s.use(&d.Use)
	rig.Vessels, rig.Line = s.vessels(d)
	rig.Ends = s.ends(&d.Endpoint)
	rig.Site = s.site(&d.Site)
	rig.Prices = s.prices(&d.Prices, rig.Vessels)
	for i, in := range d.Installed {
		s.installed(fmt.Sprintf("/installed/%d", i), in)
	}
	for i := range rig.Vessels {
		if rinse := rig.Use.Rinse; float64(rig.Vessels[i].Vessel.Resin) < 0.005*float64(rinse) {
			s.refuse(fmt.Sprintf("/vessels/%d/resin", i), fmt.Sprintf("%.3g L of resin for a rinse of %.3g L", float64(rig.Vessels[i].Vessel.Resin), float64(rinse)),
				"resin enough for one rinse", "check the units of the resin and of the rinse")
		}
	}
	rig.Assumptions = s.assumed
	return rig, s.problems
}

func (s *settler) use(d *UseDocument) Use {
	u := Use{
		Rinse:         unit.Litres(take(s, d.Rinse, Volume(unit.Gallons(8)), "/use/rinse", "water through the vessel for one rinse", "8 gal")),
		RinsesPerWeek: take(s, d.RinsesPerWeek, 3, "/use/rinses_per_week", "rinses a week in the season", "3"),
		MonthsPerYear: take(s, d.MonthsPerYear, 6, "/use/months_per_year", "months of use a year", "6 (26 weeks)"),
		FirstMonth:    take(s, d.FirstMonth, 4, "/use/first_month", "first month of the season", "April"),
		Growth:        take(s, d.Growth, 0, "/use/growth_percent_per_year", "growth of the demand", "0 % a year") / 100,
		PeakFlow:      unit.LitresPerMinute(take(s, d.PeakFlow, Flow(unit.GallonsPerMinute(2)), "/use/peak_flow", "highest flow through the vessel", "2 gpm")),
		Plain:         unit.Litres(take(s, d.Plain, 0, "/use/plain", "plain filtered water drawn beside the vessel each time", "none")),
		HorizonYears:  take(s, d.HorizonYears, 10, "/use/horizon_years", "years over which costs are summed, without interest", "10"),
	}
	u.PlainFlow = u.PeakFlow
	if d.PlainFlow != nil {
		u.PlainFlow = unit.LitresPerMinute(*d.PlainFlow)
	} else if u.Plain > 0 {
		s.assume("/use/plain_flow", "highest flow of plain filtered water", "as through the vessel", habit)
	}
	// A fifth of the week, as over five working days, and two where there are two.
	busiest := max(1, min(u.RinsesPerWeek, 2), math.Ceil(u.RinsesPerWeek/5))
	u.BusiestDay = take(s, d.BusiestDay, busiest, "/use/rinses_on_busiest_day", "rinses on the busiest day", fmt.Sprintf("%.3g", busiest))
	s.within("/use/rinse", float64(u.Rinse), 0.1, 1e5, "state the water of one rinse, such as 8 gal; a rig with no use needs no plan")
	s.within("/use/rinses_per_week", u.RinsesPerWeek, 0.01, 1000, "state how often the rig is used; a rig with no use needs no plan")
	s.within("/use/months_per_year", u.MonthsPerYear, 0.1, 12, "state the months of use a year")
	s.within("/use/first_month", float64(u.FirstMonth), 1, 12, "state the month as a number, 4 for April")
	s.within("/use/growth_percent_per_year", 100*u.Growth, -50, 100, "state the growth of the demand in percent a year")
	s.within("/use/peak_flow", float64(u.PeakFlow), 0.05, 1000, "state the highest flow through the vessel, such as 2 gpm")
	s.within("/use/plain", float64(u.Plain), 0, 1e6, "state the plain water of one rinse, or leave the field out")
	s.within("/use/plain_flow", float64(u.PlainFlow), 0.05, 1000, "state the highest flow of plain water, such as 5 gpm")
	s.within("/use/rinses_on_busiest_day", u.BusiestDay, 0.01, 1000, "state the rinses of the busiest day")
	if u.BusiestDay < u.RinsesPerWeek/7 {
		s.refuse("/use/rinses_on_busiest_day", fmt.Sprintf("%.3g rinses on the busiest day of a week of %.3g", u.BusiestDay, u.RinsesPerWeek),
			"at least a seventh of the week's", "state the rinses of the busiest day, which sizes tanks and membranes, or leave the field out")
	}
	s.within("/use/horizon_years", float64(u.HorizonYears), 1, 50, "state over how many whole years to count, such as 10")
	return u
}

func (s *settler) vessels(d *RigDocument) ([]RigVessel, Line) {
	docs := d.Vessels
	if len(docs) == 0 {
		docs = []VesselDocument{{}}
	}
	if len(docs) > 8 {
		s.refuse("/vessels", fmt.Sprintf("%d vessels", len(docs)), "at most 8", "describe one rig at a time")
		docs = docs[:8]
	}
	var all []RigVessel
	for i := range docs {
		all = append(all, s.vessel(fmt.Sprintf("/vessels/%d", i), &docs[i]))
	}
	line := LineSeries
	if len(docs) > 1 {
		line = take(s, d.Line, LineSeries, "/arrangement", "how the vessels stand", "in series, the first one swapped when it is spent")
	} else if d.Line != nil {
		line = *d.Line
	}
	if line != LineSeries && line != LineParallel {
		s.refuse("/arrangement", string(line), "series or parallel", "use one of the two words")
	}
	return all, line
}

// fillHours is the work of one refill or swap: emptying, filling and rinsing a
// tank, or turning in a cartridge or an exchange tank. Common practice, no
// source.
var fillHours = map[VesselKind]float64{KindTank: 1.5, KindCartridge: 0.25, KindExchange: 0.5}

func (s *settler) vessel(at string, d *VesselDocument) RigVessel {
	v := RigVessel{Name: d.Name, TypeTwo: d.TypeTwo, Price: d.Price, FillPrice: d.FillPrice}
	v.Kind = take(s, d.Kind, KindTank, at+"/kind", "kind of vessel", "tank refilled with new resin, old resin thrown away")
	if _, ok := fillHours[v.Kind]; !ok {
		s.refuse(at+"/kind", string(v.Kind), "tank, cartridge or exchange", "use one of the three words")
	}
	resin := unit.CubicFeet(1)
	switch {
	case d.Resin != nil:
		resin = unit.Litres(*d.Resin)
	case d.Diameter != nil && d.Depth != nil:
		c := bed.Cartridge(unit.Metres(*d.Diameter), unit.Metres(*d.Depth))
		resin = c.Resin
	default:
		s.assume(at+"/resin", "resin in the vessel", "1 ft3 (28.3 L)", habit)
	}
	v.Vessel = bed.NewVessel(resin)
	switch {
	case d.Diameter != nil && d.Depth != nil:
		v.Vessel.Diameter, v.Vessel.Depth = unit.Metres(*d.Diameter), unit.Metres(*d.Depth)
	case d.Diameter != nil:
		c := bed.Cartridge(unit.Metres(*d.Diameter), 1) // 1 m deep, to learn its litres a metre
		v.Vessel.Diameter, v.Vessel.Depth = unit.Metres(*d.Diameter), unit.Metres(float64(resin)/float64(c.Resin))
	default:
		s.assume(at+"/diameter", "inner diameter and depth of the bed", fmt.Sprintf("%.3g x %.3g in, the common tank for that volume", v.Vessel.Diameter.Inches(), v.Vessel.Depth.Inches()), habit)
	}
	v.Vessel.CationShare = take(s, d.CationShare, 0.4, at+"/cation_share", "share of the resin volume that is cation resin", "0.40 (ledger A06)")
	fallback := "new"
	if v.Kind == KindExchange {
		fallback = "regenerated"
	}
	switch name := take(s, d.Condition, fallback, at+"/condition", "condition of the resin", fallback); name {
	case "new":
		v.Condition = bed.New()
	case "regenerated":
		v.Condition = bed.Regenerated()
	case "unknown":
		v.Condition = bed.UnknownCondition()
	default:
		s.refuse(at+"/condition", name, "new, regenerated or unknown", "use one of the three words")
		v.Condition = bed.UnknownCondition()
	}
	v.Vessel = v.Condition.Typical(v.Vessel)
	v.Owned = take(s, d.Owned, false, at+"/owned", "vessel already bought and filled", "no")
	v.FillHours = take(s, d.FillHours, fillHours[v.Kind], at+"/fill_hours", "hours of work to refill or swap the vessel", fmt.Sprintf("%.3g", fillHours[v.Kind]))
	s.within(at+"/fill_hours", v.FillHours, 0, 100, "state the hours of one refill")
	if err := v.Vessel.Check(); err != nil {
		s.refuse(at, err.Error(), "a vessel that can be built", "check the resin, diameter and depth and their units")
	}
	return v
}

func (s *settler) ends(d *EndDocument) bed.Ends {
	e := bed.DefaultEnds()
	e.Residue = unit.MgPerL(take(s, d.Residue, float64(e.Residue), "/endpoint/dry_residue_mg_per_l", "dry residue at which water leaves spots", "10 mg/L (no standard exists)"))
	e.Meter = take(s, d.Meter, e.Meter, "/endpoint/meter_ppm", "reading of the pen at which you would stop", fmt.Sprintf("%.3g ppm", e.Meter))
	e.MeterFactor = take(s, d.MeterFactor, e.MeterFactor, "/endpoint/meter_ppm_per_us_per_cm", "ppm that the pen shows for 1 uS/cm", fmt.Sprintf("%.3g", e.MeterFactor))
	s.within("/endpoint/dry_residue_mg_per_l", float64(e.Residue), 0.1, 500, "state the dry residue that you accept, such as 10")
	s.within("/endpoint/meter_ppm", e.Meter, 0.1, 500, "state the reading at which you would stop, such as 10")
	s.within("/endpoint/meter_ppm_per_us_per_cm", e.MeterFactor, 0.4, 1, "state the factor of the meter, usually 0.5 to 0.7")
	return e
}

func (s *settler) site(d *SiteDocument) Site {
	site := Site{
		PrivateWell:       take(s, d.PrivateWell, true, "/site/private_well", "source", "a private well"),
		Chlorinated:       take(s, d.Chlorinated, false, "/site/chlorinated", "water chlorinated ahead of the rig", "no"),
		Drain:             take(s, d.Drain, true, "/site/drain", "drain for backwash and waste water", "yes"),
		Septic:            take(s, d.Septic, false, "/site/septic", "drain leads to a septic system", "no"),
		Power:             take(s, d.Power, true, "/site/power", "electricity at the rig", "yes"),
		Freezing:          take(s, d.Freezing, false, "/site/freezing", "rig stands where it can freeze", "no"),
		Outdoors:          take(s, d.Outdoors, false, "/site/outdoors", "rig stands outdoors", "no"),
		ClosedWellHouse:   take(s, d.ClosedWellHouse, false, "/site/closed_well_house", "rig stands in a closed well house or pit", "no"),
		Pressure:          unit.Kilopascals(take(s, d.Pressure, Pressure(unit.PSI(50)), "/site/pressure", "water pressure ahead of the rig", "50 psi")),
		PumpFlow:          unit.LitresPerMinute(take(s, d.PumpFlow, Flow(unit.GallonsPerMinute(8)), "/site/pump_flow", "flow the well pump can give", "8 gpm")),
		DrinkingUse:       take(s, d.DrinkingUse, false, "/site/also_used_for_drinking", "water also drunk", "no"),
		HomeRegeneration:  take(s, d.HomeRegeneration, false, "/site/regenerates_at_home", "resin regenerated at home", "no"),
		SulfurSmell:       take(s, d.SulfurSmell, false, "/site/sulfur_smell", "water smells of rotten eggs", "no"),
		HotWater:          take(s, d.HotWater, false, "/site/hot_water", "hot water through the vessel", "no"),
		Spray:             take(s, d.Spray, true, "/site/spray", "water sprayed", "yes"),
		MetalPiping:       take(s, d.MetalPiping, false, "/site/metal_piping", "metal pipes or fittings behind the vessel", "no"),
		AcidDose:          take(s, d.AcidDose, false, "/site/acid_used", "acid dosed or used for cleaning", "no"),
		ShockChlorination: take(s, d.Shock, false, "/site/shock_chlorination", "well to be shock-chlorinated", "no"),
		Regenerated:       take(s, d.Regenerated, false, "/site/regenerated_on_site", "bed regenerated on site by a service", "no"),
	}
	s.within("/site/pressure", float64(site.Pressure), 0, 1500, "state the pressure at the tap, such as 50 psi")
	s.within("/site/pump_flow", float64(site.PumpFlow), 0.1, 5000, "state the flow of the well pump, such as 8 gpm")
	return site
}

func (s *settler) installed(at string, in Installed) {
	var variants []string
	for _, st := range process.Catalogue() {
		if st.Kind() == in.Kind {
			variants = append(variants, st.Variant())
		}
	}
	if len(variants) == 0 {
		s.refuse(at+"/kind", string(in.Kind), "a kind of stage", "use a kind that the schema lists")
		return
	}
	if in.Variant != "" && !slices.Contains(variants, in.Variant) {
		slices.SortFunc(variants, cmp.Compare[string])
		s.refuse(at+"/variant", in.Variant, fmt.Sprintf("one of %q", variants), "name the variant, or leave it out")
	}
}
