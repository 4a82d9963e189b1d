package rules

import (
	"fmt"
	"math"
	"slices"
	"strconv"
	"strings"

	"forebed/chem/unit"
)

// The measures of a rig document are written as a number and its unit, "8 gal"
// or "30 L", because the people who fill it in measure in either system. A
// number without a unit is refused.
type (
	// Volume is a volume of water, in litres: "8 gal", "30 L", "1 m3".
	Volume unit.Litres
	// Resin is an amount of resin, in litres: "1 ft3", "28 L", or a weight
	// "43 lb", "20 kg" that is turned into volume by the habit of the trade,
	// 43 lb/ft3 (treatment ledger A15; common practice).
	Resin unit.Litres
	// Flow is a flow of water, in litres a minute: "2 gpm", "8 L/min".
	Flow unit.LitresPerMinute
	// Length is a length, in metres: "8 in", "200 mm".
	Length unit.Metres
	// Pressure is a gauge pressure, in kilopascals: "50 psi", "3.5 bar".
	Pressure unit.Kilopascals
)

// units of one measure: each spelling, and what one of it is in our unit.
type units []struct {
	name  string
	scale float64
}

const (
	litresPerImperialGallon = 4.54609 // exact: UK Weights and Measures Act 1985
	kilopascalsPerBar       = 100
)

var (
	volumeUnits = units{
		{"gal", float64(unit.Gallons(1))}, {"L", 1}, {"m3", 1000}, {"ft3", float64(unit.CubicFeet(1))},
		{"impgal", litresPerImperialGallon},
	}
	resinUnits = units{
		{"ft3", float64(unit.CubicFeet(1))}, {"L", 1},
		{"lb", float64(unit.CubicFeet(1)) / 43}, {"kg", float64(unit.CubicFeet(1)) / 43 / float64(unit.Pounds(1))},
	}
	flowUnits = units{
		{"gpm", float64(unit.GallonsPerMinute(1))}, {"gal/min", float64(unit.GallonsPerMinute(1))},
		{"L/min", 1}, {"L/h", 1.0 / 60}, {"m3/h", 1000.0 / 60},
	}
	lengthUnits   = units{{"in", float64(unit.Inches(1))}, {"mm", 0.001}, {"cm", 0.01}, {"m", 1}, {"ft", 0.3048}}
	pressureUnits = units{{"psi", float64(unit.PSI(1))}, {"bar", kilopascalsPerBar}, {"kPa", 1}}
)

// parse reads "8 gal".
func (us units) parse(text string) (float64, error) {
	number, name := splitMeasure(text)
	x, err := strconv.ParseFloat(number, 64)
	if err != nil || math.IsInf(x, 0) || math.IsNaN(x) {
		return 0, fmt.Errorf("%q is not a number with a unit, such as %q", text, "8 "+us[0].name)
	}
	for _, u := range us {
		if strings.EqualFold(u.name, name) {
			return x * u.scale, nil
		}
	}
	var names []string
	for _, u := range us {
		names = append(names, u.name)
	}
	if name == "" {
		return 0, fmt.Errorf("%q has no unit: write one of %s behind the number", text, strings.Join(names, ", "))
	}
	return 0, fmt.Errorf("%q: %q is not a unit of this quantity, which is written in %s", text, name, strings.Join(names, ", "))
}

// splitMeasure splits "8 gal" into "8" and "gal".
func splitMeasure(text string) (number, name string) {
	text = strings.TrimSpace(text)
	end := strings.IndexFunc(text, func(r rune) bool { return !strings.ContainsRune("+-.0123456789eE", r) })
	if end < 0 {
		return text, ""
	}
	// "8 ea": the e of a unit is not an exponent
	for end > 0 && strings.ContainsRune("eE", rune(text[end-1])) {
		end--
	}
	return strings.TrimSpace(text[:end]), strings.TrimSpace(text[end:])
}

func unmarshalMeasure[T ~float64](into *T, text []byte, us units) error {
	x, err := us.parse(string(text))
	if err == nil {
		*into = T(x)
	}
	return err
}

// UnmarshalText reads a volume of water with its unit.
func (v *Volume) UnmarshalText(b []byte) error { return unmarshalMeasure(v, b, volumeUnits) }

// UnmarshalText reads an amount of resin with its unit.
func (v *Resin) UnmarshalText(b []byte) error { return unmarshalMeasure(v, b, resinUnits) }

// UnmarshalText reads a flow with its unit.
func (v *Flow) UnmarshalText(b []byte) error { return unmarshalMeasure(v, b, flowUnits) }

// UnmarshalText reads a length with its unit.
func (v *Length) UnmarshalText(b []byte) error { return unmarshalMeasure(v, b, lengthUnits) }

// UnmarshalText reads a pressure with its unit.
func (v *Pressure) UnmarshalText(b []byte) error { return unmarshalMeasure(v, b, pressureUnits) }

// Price is an amount of money for a thing, as "250 USD/ft3" or "1500 USD".
type Price struct {
	Amount   float64 // for one unit of Per
	Currency string  // three letters, ISO 4217
	Per      string  // "" for a piece, else a unit of volume, weight, energy or time
	Text     string  // as written
}

type perUnit struct {
	name, family string
	size         float64
}

// perUnits lists what a price may be for: the size of each unit in the base
// unit of its family.
var perUnits = []perUnit{
	{"", "piece", 1}, {"each", "piece", 1}, {"fill", "piece", 1}, {"visit", "piece", 1},
	{"L", "volume", 1}, {"gal", "volume", float64(unit.Gallons(1))}, {"1000gal", "volume", float64(unit.Gallons(1000))},
	{"m3", "volume", 1000}, {"ft3", "volume", float64(unit.CubicFeet(1))},
	{"kg", "weight", 1}, {"lb", "weight", float64(unit.Pounds(1))},
	{"kWh", "energy", 1}, {"h", "time", 1}, {"hour", "time", 1},
	{"year", "year", 1}, {"month", "year", 1.0 / 12},
}

// UnmarshalText reads a price.
func (p *Price) UnmarshalText(b []byte) error {
	text := strings.TrimSpace(string(b))
	number, rest := splitMeasure(text)
	x, err := strconv.ParseFloat(number, 64)
	currency, per, _ := strings.Cut(rest, "/")
	currency, per = strings.TrimSpace(currency), strings.ReplaceAll(strings.TrimSpace(per), " ", "")
	switch {
	case err != nil || math.IsInf(x, 0) || math.IsNaN(x):
		return fmt.Errorf("%q is not a price, such as \"250 USD/ft3\"", text)
	case x < 0:
		return fmt.Errorf("%q is negative: a price is 0 or more", text)
	case len(currency) != 3 || strings.ToUpper(currency) != currency || strings.ContainsFunc(currency, func(r rune) bool { return r < 'A' || r > 'Z' }):
		return fmt.Errorf("%q states no currency: write its three letters behind the number, such as \"250 USD/ft3\"", text)
	}
	if !slices.ContainsFunc(perUnits, func(u perUnit) bool { return strings.EqualFold(u.name, per) }) {
		return fmt.Errorf("%q: a price is not stated per %q", text, per)
	}
	*p = Price{Amount: x, Currency: currency, Per: per, Text: text}
	return nil
}

// in returns the price of one base unit (litre, kilogram, kWh, hour, year or
// piece) of a family.
func (p *Price) in(family string) (float64, error) {
	for _, u := range perUnits {
		if strings.EqualFold(u.name, p.Per) && u.family == family {
			return p.Amount / u.size, nil
		}
	}
	return 0, fmt.Errorf("%q is not a price per %s", p.Text, family)
}
