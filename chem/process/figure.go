package process

import (
	"fmt"
	"math"

	"forebed/chem/unit"
)

// Figure is one number that the trade prints, with its range and its source.
// Low and High are 0 where no range is printed.
type Figure struct {
	ID               string
	Value, Low, High float64
	Unit             string
	What             string // in words, with the conditions
	Source           Source
}

// Conversions of the trade's units, exact from the inch, pound and gallon.
const (
	litresPerGallon    = 3.785411784
	squareMetresPerFt2 = 0.09290304
	litresPerFt3       = 28.316846592
	gramsPerPound      = 453.59237
	milligramsPerGrain = 64.79891
	gallonsPerFt3      = 1728.0 / 231
)

// flowPerArea turns gpm/ft2 into litres a minute through an area in m2.
func flowPerArea(gpmPerFt2, area float64) unit.LitresPerMinute {
	return unit.LitresPerMinute(gpmPerFt2 * litresPerGallon / squareMetresPerFt2 * area)
}

// areaFor returns the area in m2 that a flow needs at so many gpm/ft2.
func areaFor(q unit.LitresPerMinute, gpmPerFt2 float64) float64 {
	return float64(q) / float64(flowPerArea(gpmPerFt2, 1))
}

// EmptyBedContactTime returns the minutes a flow spends in the empty volume
// of a bed: volume over flow.
func EmptyBedContactTime(volume unit.Litres, q unit.LitresPerMinute) float64 {
	return float64(volume) / float64(q)
}

// Figures that several stages share.
var (
	outsideShare = Figure{"outside_share", 0.5, 0, 0.9, "share", "what a stage still takes out when a window of effect \"works less well\" is broken and no law tells more",
		Source{"", "an allowance: no published figure", CommonPractice}}
	pumpEfficiency = Figure{"pump_efficiency", 0.4, 0.3, 0.5, "share", "wire to water, small pumps",
		Source{"G11", "50 m lift, 40 psi, 40 % wire-to-water", Computed}}
	repumpPressure = Figure{"repump_pressure", 40, 30, 60, "psi", "behind an open tank",
		Source{"G11", "50 m lift, 40 psi, 40 % wire-to-water", Computed}}
)

// pumpEnergy returns the kWh that lifting one litre to a pressure takes.
func pumpEnergy(p unit.Kilopascals) float64 {
	return float64(p) / 1000 / pumpEfficiency.Value / 3600 // kPa·L is J; kWh is 3.6 MJ
}

// day returns the product water of the busiest day: the one given, or the
// mean of the days in use.
func (d Duty) day() unit.Litres {
	if d.PeakDay > 0 {
		return d.PeakDay
	}
	return d.YearVolume / unit.Litres(max(1, d.DaysInUse))
}

// volume writes the volume of a tank to buy, rounded up to the gallon.
func volume(v unit.Litres) string {
	gal := math.Ceil(v.Gallons())
	return fmt.Sprintf("%.0f gal (%.0f L)", gal, float64(unit.Gallons(gal)))
}
