package process

import (
	"errors"
	"fmt"
	"math"

	"forebed/chem/unit"
	"forebed/chem/water"
)

// membrane is reverse osmosis with a storage tank and repump.
//
// Each ion passes in its own share, so the permeate would carry a charge; the
// membrane's own potential holds the faster sign back and pulls the slower
// one through. With p the share of ion i that passes on its own and x the
// potential's factor, one number for the water,
//
//	c_permeate = c_feed · a · x^z,   a = (1 - (1-Y)^p) / Y,   sum z·c_permeate = 0
//
// where a averages the passage over the length of the membrane, along which
// the feed grows stronger as water leaves (plug flow at recovery Y; a = p at
// Y = 0). Gases pass whole: the permeate has the CO2 of the feed and little
// bicarbonate, so its pH falls. Both flux and the passage of salt rise with
// temperature at nearly the same rate, so at a given pressure the rejection
// is taken as independent of it; the flow is not (E61, see Size).
type membrane struct {
	variant, title string
	recovery       Figure
	passes         passage // at that recovery
	pressure       Figure  // psi at the membrane; 0 for the pressure of the supply
	facts          *Facts
}

// Rejection is what a membrane holds back, as shares.
type Rejection struct {
	Ion     [water.NumIons]float64
	Silica  float64
	Organic float64 // organic carbon and tannin
}

// ThinFilm returns the rejection of a thin-film composite membrane in good
// order, the low end of ledger E45 to E57, as system planning wants.
func ThinFilm() Rejection { return thinFilm }

// Source of all rows: trade table of manufacturers' estimates, seen in a
// stored copy. Strontium and barium as calcium, carbonate as bicarbonate: by
// analogy, from memory. Organics: common practice.
var thinFilm = Rejection{
	Ion: [water.NumIons]float64{
		water.Calcium: 0.96, water.Magnesium: 0.96, water.Strontium: 0.96, water.Barium: 0.96, // E45 E46
		water.Sodium: 0.92, water.Potassium: 0.92, water.Ammonium: 0.85, // E47 E48 E49
		water.Iron: 0.98, water.Manganese: 0.96, // E50 E51
		water.Chloride: 0.94, water.Bicarbonate: 0.95, water.Carbonate: 0.95, // E52 E53
		water.Nitrate: 0.93, water.Sulfate: 0.99, water.Fluoride: 0.94, // E54 E55 E56
	},
	Silica:  0.85, // E57
	Organic: 0.9,
}

// UniformRejection returns the same rejection for every ion, and another for
// silica, as the examples of treatment ledger section 6 have it.
func UniformRejection(ions, silica float64) Rejection {
	r := Rejection{Silica: silica, Organic: ions}
	for i := range r.Ion {
		r.Ion[i] = ions
	}
	return r
}

var (
	recoveryTap = Figure{"ro_recovery_tap", 0.20, 0.15, 0.33, "share", "tap-pressure unit without pump or softener",
		Source{"E63", "Slovak, trade article, introduction: under 33 %; manual: reject 3-4 x product", Verified}}
	recoveryPumped = Figure{"ro_recovery_pumped", 0.50, 0.33, 0.50, "share", "small pumped unit on softened water",
		Source{"E64", "Slovak, trade article, introduction: not over 50 %", Verified}}
	membranePressure = Figure{"ro_pressure", 150, 100, 200, "psi", "at the membrane of a small pumped unit", practice}
	flowPerDegree    = Figure{"ro_temperature", 1.03, 1.027, 1.03, "x per degC", "permeate flow, referred to 25 degC",
		Source{"E61", "common practice; RO note: 15 % more pressure per 10 F colder is 2.7 %", CommonPractice}}
	osmoticRule = Figure{"osmotic_pressure", 1, 0, 0, "psi per 100 mg/L", "of dissolved solids",
		Source{"E62", "membrane normalisation note", Verified}}
	leastPressure = Figure{"ro_least_pressure", 40, 40, 100, "psi", "feed of a tap-pressure unit",
		Source{"E78 E65", "residential RO manual (name withheld), table B", Verified}}
	membraneHours = Figure{"ro_hours", 16, 10, 22, "h/day", "that the unit makes water on the busiest day", practice}
	membraneLife  = Figure{"ro_membrane_months", 36, 24, 60, "months", "life of a membrane",
		Source{"G06", "life 2-5 years", CommonPractice}}
	tankDays = Figure{"ro_tank_days", 1, 0.5, 2, "days", "of the busiest day's water held in the tank", practice}
)

// Element is a common size of membrane element.
type Element struct {
	Class        string
	Text         string
	Area         float64 // m2
	Permeability float64 // L/(m2 h bar) at 25 degC
	Drop         float64 // psi over the feed channel
}

// Elements returns the sizes, smallest first. Areas and permeabilities are
// from memory: they give the usual ratings of about 75, 750 and 2,400 gal a
// day at 60, 225 and 225 psi on 500 to 2,000 mg/L.
func Elements() []Element { return append([]Element(nil), elements[:]...) }

var elements = [...]Element{
	{"membrane_1812", "1.8 x 12 in membrane", 0.45, 7, 2},
	{"membrane_2540", "2.5 x 40 in membrane", 2.6, 3.2, 5},
	{"membrane_4040", "4 x 40 in membrane", 7.9, 3.2, 5},
}

func membraneFacts() *Facts {
	limits := Source{"E65", "residential RO manual (name withheld), table B", Verified}
	return &Facts{
		Windows: []Window{
			{AnyIron, math.Inf(-1), 0.1, Fouls, "iron fouls the membrane", limits},
			{DissolvedManganese, math.Inf(-1), 0.05, Fouls, "manganese fouls the membrane", limits},
			{Sulfide, math.Inf(-1), 0.05, Fouls, "sulfide passes, and turns into sulfur on the membrane", limits},
			{Hardness, math.Inf(-1), 10 * mgPerGrain, Fouls, "hardness scales the membrane", limits},
			{DissolvedSolids, math.Inf(-1), 1500, Reduced, "osmotic pressure takes the flow", limits},
			{Temperature, 4, 29, Reduced, "cold water gives little permeate; heat compacts the membrane", limits},
			{FreeChlorine, math.Inf(-1), 0.1, Damages, "chlorine destroys a thin-film membrane", Source{"E66", "1,000 ppm-hours lifetime", FromMemory}},
			{Turbidity, math.Inf(-1), 1, Fouls, "particles plug the feed channel", Source{"E67", "RO feed parameter guide: SDI 3-5", Verified}},
			{OrganicCarbon, math.Inf(-1), 3, Fouls, "organics coat the membrane and feed slime", practice},
			{PH, 3, 11, Damages, "acid or caustic water attacks the membrane", practice},
		},
		Protects: []Protection{{"", "nine tenths and more of the salts, which are the load on the bed", Source{"E45 E53 E55 F05", "trade table of manufacturers estimates", Verified}}},
		Needs:    NeedsDrain | NeedsPower | NeedsFrostFree | NeedsIndoors | NeedsTank,
		Claim:    "takes out 90 to 98 % of the ions and most silica; carbon dioxide and sulfide pass whole, so the pH falls",
		Source:   Source{"E45 E57 E59 E60", "trade table of manufacturers estimates; RO water chemistry note; Nebraska Extension G1490", Verified},
	}
}

var (
	membraneTap    = membrane{"tap_pressure", "reverse osmosis at tap pressure, with tank and repump", recoveryTap, thinFilm.over(recoveryTap.Value), Figure{}, membraneFacts()}
	membranePumped = membrane{"pumped", "pumped reverse osmosis, with tank and repump", recoveryPumped, thinFilm.over(recoveryPumped.Value), membranePressure, membraneFacts()}
)

func (m *membrane) Kind() Kind      { return ReverseOsmosis }
func (m *membrane) Variant() string { return m.variant }
func (m *membrane) Title() string   { return m.title }
func (m *membrane) Facts() *Facts   { return m.facts }

// passage is the share of each substance that passes, averaged over the
// length of a membrane at one recovery.
type passage struct {
	recovery        float64
	ion             [water.NumIons]float64
	silica, organic float64
}

// over averages a rejection over the membrane.
func (r Rejection) over(recovery float64) passage {
	p := passage{recovery: recovery, silica: meanPassage(r.Silica, recovery), organic: meanPassage(r.Organic, recovery)}
	for i, x := range r.Ion {
		p.ion[i] = meanPassage(x, recovery)
	}
	return p
}

// meanPassage returns a for one substance: the mean share that passes at a
// recovery.
func meanPassage(rejection, recovery float64) float64 {
	if recovery <= 0 {
		return 1 - rejection
	}
	return (1 - math.Pow(1-recovery, 1-rejection)) / recovery
}

// Permeate splits a feed into permeate and concentrate at a recovery from 0 to
// below 1, both charge-balanced. What is no ion goes with the water (gases),
// stays (particles) or passes in its own share.
func Permeate(in *water.Water, r Rejection, recovery float64) (permeate, concentrate water.Water, err error) {
	if !(recovery >= 0 && recovery < 1) {
		return *in, *in, fmt.Errorf("recovery is %v, expected 0 to below 1", recovery)
	}
	p := r.over(recovery)
	if permeate, err = p.permeate(in); err != nil {
		return permeate, *in, err
	}
	concentrate, err = p.concentrate(in, &permeate)
	return permeate, concentrate, err
}

// permeate returns what passes.
func (p *passage) permeate(in *water.Water) (water.Water, error) {
	w := *in
	if err := p.ions(&in.Ion, &w.Ion); err != nil {
		return w, err
	}
	w.Silica *= unit.MmolPerL(p.silica)
	organic := unit.MgPerL(p.organic)
	w.Matter = water.Matter{
		FreeChlorine: in.Matter.FreeChlorine, Chloramine: in.Matter.Chloramine, Oxygen: in.Matter.Oxygen,
		OrganicCarbon: in.Matter.OrganicCarbon * organic, Tannin: in.Matter.Tannin * organic,
		Unknown: in.Matter.Unknown &^ (water.UnknownTurbidity | water.UnknownIronForm),
	}
	out, err := w.WithCarbon(w.TotalCarbon())
	if err != nil {
		return w, fmt.Errorf("permeate: %w", err)
	}
	return out, nil
}

// concentrate returns what stays of a feed behind its permeate. Carbon is
// balanced as a whole, since closing the permeate has split it anew.
func (p *passage) concentrate(in, permeate *water.Water) (water.Water, error) {
	w := *in
	if p.recovery > 0 {
		for i := range w.Ion {
			w.Ion[i] = remainder(in.Ion[i], permeate.Ion[i], p.recovery)
		}
		w.Silica = remainder(in.Silica, permeate.Silica, p.recovery)
	}
	carbon := in.TotalCarbon()
	if p.recovery > 0 {
		carbon = remainder(in.TotalCarbon(), permeate.TotalCarbon(), p.recovery)
	}
	out, err := w.WithCarbon(carbon)
	if err != nil {
		return w, fmt.Errorf("concentrate: %w", err)
	}
	return out, nil
}

// remainder is what stays in the concentrate, by mass balance.
func remainder(feed, permeate unit.MmolPerL, recovery float64) unit.MmolPerL {
	return max(0, (feed-permeate*unit.MmolPerL(recovery))/unit.MmolPerL(1-recovery))
}

// ions writes the ions of the permeate. It finds the potential by Newton's
// method on ln x from 0: the charge rises steadily with it.
func (p *passage) ions(feed, permeate *[water.NumIons]unit.MmolPerL) error {
	u := 0.0
	for range 50 {
		x := math.Exp(u)
		pull := [...]float64{1 / (x * x), 1 / x, 1, x, x * x} // x^z for z from -2
		var charge, slope float64
		for i, c := range feed {
			z := water.Ion(i).Charge()
			n := float64(c) * p.ion[i] * pull[int(z)+2]
			permeate[i] = unit.MmolPerL(n)
			charge += z * n
			slope += z * z * n
		}
		if math.Abs(charge) <= 1e-12*slope {
			return nil
		}
		u -= max(-1, min(1, charge/slope))
	}
	return errors.New("no membrane potential balances the permeate: it holds ions of one sign only")
}

// Apply gives the permeate, and judges the concentrate.
func (m *membrane) Apply(in *water.Water) (Outcome, error) {
	o, err := m.Carry(in)
	if err != nil {
		return o, err
	}
	concentrate, err := m.passes.concentrate(in, &o.Out)
	if err != nil {
		return o, fmt.Errorf("%s: %w", m.title, err)
	}
	o.Notes |= scale(concentrate.Saturation())
	return o, nil
}

// Carry is Apply without a look at the concentrate, which takes twice as long
// as the permeate.
func (m *membrane) Carry(in *water.Water) (Outcome, error) {
	o := m.facts.enter(in)
	permeate, err := m.passes.permeate(in)
	if err != nil {
		return o, fmt.Errorf("%s: %w", m.title, err)
	}
	o.Out = permeate
	o.Use.Feed = 1 / m.recovery.Value
	o.Use.Energy = pumpEnergy(unit.PSI(repumpPressure.Value))
	if m.pressure.Value > 0 {
		o.Use.Energy += pumpEnergy(unit.PSI(m.pressure.Value-leastPressure.Value)) / m.recovery.Value // the supply gives the rest
	}
	return o, nil
}

// scale turns saturation indices of a concentrate without antiscalant into
// findings. Source: ledger E68, LSI below 0 untreated, common practice; the
// same mark is used for gypsum and silica.
func scale(s water.Saturation) Notes {
	var n Notes
	if s.Calcite > 0 {
		n |= NoteCalciteScale
	}
	if s.Gypsum > 0 {
		n |= NoteGypsumScale
	}
	if s.AmorphousSilica > 0 {
		n |= NoteSilicaScale
	}
	return n
}

// TemperatureFactor returns the permeate flow at a temperature over that at
// 25 degC: 0.64 at 10 degC (ledger E61).
func TemperatureFactor(t unit.Celsius) float64 {
	return math.Pow(flowPerDegree.Value, float64(t)-25)
}

// NetPressure returns the pressure that drives the permeate: the feed's, less
// the osmotic pressure of the mean concentrate.
func NetPressure(feed unit.Kilopascals, solids unit.MgPerL, recovery float64) unit.Kilopascals {
	mean := 1.0 // concentration factor averaged over the membrane, high rejection
	if recovery > 0 {
		mean = -math.Log(1-recovery) / recovery
	}
	return feed - unit.PSI(osmoticRule.Value/100*float64(solids)*mean)
}

// EndPressure returns what the pressure of the feed leaves over the osmotic
// pressure at the end of the membrane, where the concentrate is strongest.
// Below 0 the recovery cannot be reached at all.
func EndPressure(feed unit.Kilopascals, solids unit.MgPerL, recovery float64) unit.Kilopascals {
	return feed - unit.PSI(osmoticRule.Value/100*float64(solids)/(1-recovery))
}

func (m *membrane) Size(in *water.Water, d Duty) Size {
	feed := d.FeedPressure
	z := Size{Repumped: true, Units: 1}
	if m.pressure.Value > 0 {
		feed = unit.PSI(m.pressure.Value)
	} else if feed.PSI() < leastPressure.Value {
		z.Notes |= NoteLowPressure
	}
	z.End = EndPressure(feed, in.DissolvedSolids(), m.recovery.Value)
	net := max(unit.PSI(5), NetPressure(feed, in.DissolvedSolids(), m.recovery.Value))
	need := float64(d.day()) / membraneHours.Value // L/h
	flux := func(e Element) float64 {
		return e.Permeability * float64(net) / 100 * TemperatureFactor(in.Temperature)
	}
	e, n := elements[len(elements)-1], 1
search:
	for ; n < endOfUnits; n++ {
		for _, e = range elements {
			if float64(n)*e.Area*flux(e) >= need {
				break search
			}
		}
	}
	z.Units, z.Class = n, e.Class
	z.Area = e.Area * float64(n)
	z.Drop = unit.PSI(e.Drop)
	if z.Units > mostUnits {
		z.Notes |= NoteManyUnits
	}
	z.Tank = d.day() * unit.Litres(tankDays.Value)
	z.Text = fmt.Sprintf("%d of %s, %s a day at %.0f degC, tank of %s and repump", n, e.Text,
		volume(unit.Litres(z.Area*flux(e)*24)), float64(in.Temperature), volume(z.Tank))
	z.Feed = d
	z.Feed.PeakFlow = unit.LitresPerMinute(z.Area * flux(e) / 60 / m.recovery.Value)
	z.Feed.YearVolume = d.YearVolume / unit.Litres(m.recovery.Value)
	z.Feed.PeakDay = d.day() / unit.Litres(m.recovery.Value)
	z.Upkeep = []Upkeep{
		{Task: "change the prefilters of the unit", Every: 6, Hours: 0.5, Trigger: "permeate flow down 10 %", Part: "cartridge_10in", Parts: 2, Source: practice},
		{Task: "read permeate and feed with the pen, and the permeate flow", Every: 1, Hours: 0.1, Trigger: "rejection below 90 %", Source: practice},
		{Task: "sanitize tank and housings", Every: 12, Hours: 2, Source: practice},
		{Task: "replace the membrane", Every: membraneLife.Value, Hours: 1, Trigger: "rejection below 85 %", Part: e.Class, Parts: float64(n), Source: membraneLife.Source},
	}
	return z
}
