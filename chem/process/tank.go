package process

import (
	"fmt"
	"math"

	"forebed/chem/bed"
	"forebed/chem/unit"
)

// Tank is a common pressure tank for a bed of medium.
type Tank struct {
	Diameter, Height float64 // inches
	Medium           float64 // ft3 that leave the usual freeboard
}

// Tanks returns the common sizes, smallest first. Common practice, no source;
// the areas are those of the nominal diameters (10 in: 0.545 ft2, as the
// treatment ledger section 5.3 has it).
func Tanks() []Tank { return append([]Tank(nil), tanks[:]...) }

var tanks = [...]Tank{
	{8, 44, 0.75}, {9, 48, 1}, {10, 54, 1.5}, {12, 52, 2}, {13, 54, 2.5},
	{14, 65, 3}, {16, 65, 4}, {18, 65, 5}, {21, 62, 7}, {24, 72, 10},
}

// Area returns the cross-section in m2.
func (t Tank) Area() float64 {
	r := float64(unit.Inches(t.Diameter)) / 2
	return math.Pi * r * r
}

// medium is what a pressure tank is filled with, and how hard water may flow
// through it.
type medium struct {
	name     string
	grain    unit.Metres // diameter that gives the clean drop
	void     float64
	density  float64 // kg/L as filled
	service  Figure  // gpm/ft2 at peak flow
	backwash Figure  // gpm/ft2; 0 if it is not backwashed
}

// rated puts the rates of the medium into the facts of its stage.
func (m *medium) rated(f *Facts) *Facts {
	f.Service, f.Backwash = m.service, m.backwash
	return f
}

const (
	mostUnits  = 4  // in parallel in a household rig; more carry NoteManyUnits
	endOfUnits = 64 // where the choice of a size ends, whatever the duty
)

// The valve on a tank takes its share of the pressure.
var valveDrop = Figure{"valve_drop", 3, 1, 8, "psi", "control valve at the service flow of its tank",
	Source{"", "common practice", CommonPractice}}

var (
	backwashMinutes = Figure{"backwash_minutes", 10, 8, 15, "min", "backwash", Source{"", "common practice", CommonPractice}}
	rinseMinutes    = Figure{"rinse_minutes", 5, 3, 10, "min", "rinse at service flow after a backwash", Source{"", "common practice", CommonPractice}}
	wellPumpFlow    = Figure{"well_pump_flow", 10, 5, 15, "gpm", "what a common household well pump sustains", Source{"", "common practice", CommonPractice}}
)

// fill chooses the fewest and then the smallest tanks that give the area the
// flow needs and the volume asked for, of those that the supply can lift by
// its backwash, one tank at a time. Where four tanks cannot be lifted either,
// the supply is left out of account, and a note says so.
func (m *medium) fill(d Duty, t unit.Celsius, volume unit.Litres) Size {
	return m.strain(d, t, volume, 0)
}

// strain is fill for a bed that holds solids (mg/L of product): its area is
// also to hold those of the busiest day, so that it is backwashed at night and
// not between two rinses.
func (m *medium) strain(d Duty, t unit.Celsius, volume unit.Litres, solids float64) Size {
	q := d.PeakFlow
	area := max(areaFor(q, m.service.Value), solids/1000*float64(d.day())/flocCapacity.Value)
	supply := d.Supply
	if supply == 0 {
		supply = unit.GallonsPerMinute(wellPumpFlow.Value)
	}
	tank, units, ok := m.choose(area, volume, mostUnits, supply)
	if !ok {
		tank, units, _ = m.choose(area, volume, endOfUnits, unit.LitresPerMinute(math.Inf(1)))
	}
	n := float64(units)
	z := Size{
		Class:  fmt.Sprintf("tank_%gin", tank.Diameter),
		Units:  units,
		Medium: unit.CubicFeet(tank.Medium * n),
		Area:   tank.Area() * n,
	}
	z.Text = fmt.Sprintf("%g x %g in tank, %g ft3 (%.0f L) of %s", tank.Diameter, tank.Height, tank.Medium, float64(unit.CubicFeet(tank.Medium)), m.name)
	if units > 1 {
		z.Text = fmt.Sprintf("%d of %s", units, z.Text)
	}
	one := bed.Vessel{BeadDiameter: m.grain, Void: m.void, Diameter: unit.Inches(tank.Diameter),
		Depth: unit.Metres(float64(unit.CubicFeet(tank.Medium)) / 1000 / tank.Area())}
	load := float64(q) / float64(flowPerArea(m.service.Value, z.Area)) // share of the service flow
	z.Drop = one.PressureDrop(bed.Service{Flow: unit.LitresPerMinute(float64(q) / n), Temperature: t}) + unit.PSI(valveDrop.Value*load*load)
	z.Backwash = flowPerArea(m.backwash.Value, tank.Area())
	if z.Backwash > supply {
		z.Notes |= NoteWeakBackwash
	}
	if units > mostUnits {
		z.Notes |= NoteManyUnits
	}
	return z
}

// choose returns the fewest and then the smallest tanks of so much area and
// volume in all, at most so many, whose backwash the supply can give.
func (m *medium) choose(area float64, volume unit.Litres, most int, supply unit.LitresPerMinute) (tank Tank, units int, ok bool) {
	for units = 1; units <= most; units++ {
		for _, c := range tanks {
			n := float64(units)
			if n*c.Area() >= area && n*c.Medium >= volume.CubicFeet() && flowPerArea(m.backwash.Value, c.Area()) <= supply {
				return c, units, true
			}
		}
	}
	return tanks[len(tanks)-1], most, false
}

// backwashWater returns the litres that one backwash of all units takes.
func (m *medium) backwashWater(z *Size) unit.Litres {
	return unit.Litres(float64(z.Backwash)*float64(z.Units)*backwashMinutes.Value +
		float64(flowPerArea(m.service.Value, z.Area))*rinseMinutes.Value)
}

var flocCapacity = Figure{"floc_capacity", 300, 150, 700, "g/m2", "dry solids that a filter bed holds between backwashes", Source{"", "common practice", CommonPractice}}

// backwashed sets the backwash of a bed: when it is full of the solids it
// strains (mg/L of product), and after so many days of use at the latest, so
// that it does not cake.
func (m *medium) backwashed(z *Size, d Duty, solids, longest float64) {
	z.Interval = longest
	if perDay := solids / 1000 * float64(d.day()); perDay > 0 {
		z.Interval = min(longest, flocCapacity.Value*z.Area/perDay)
	}
	m.every(z, d, z.Interval)
}

// every sets a backwash after so many days of use.
func (m *medium) every(z *Size, d Duty, days float64) {
	z.Interval = days
	z.Waste = m.backwashWater(z) * unit.Litres(math.Ceil(d.DaysInUse/days))
}
