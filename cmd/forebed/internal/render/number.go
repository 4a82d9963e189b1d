// Package render turns a reading, a composition or a plan into text,
// Markdown, HTML or JSON: one value in, bytes out. Every figure is formatted
// here, so that no output shows more digits than the computation earns.
package render

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"forebed/chem/unit"
)

// Units chooses the units of volumes and flows in text.
type Units string

// The two systems.
const (
	US     Units = "us"     // gallons
	Metric Units = "metric" // litres
)

// Round returns v rounded to n significant figures.
func Round(v float64, n int) float64 {
	if v == 0 || math.IsInf(v, 0) || math.IsNaN(v) {
		return v
	}
	p := math.Pow(10, float64(n)-math.Ceil(math.Log10(math.Abs(v))))
	return math.Round(v*p) / p
}

// Figures prints v with n significant figures, thousands separated by commas
// from 10 000 on, without an exponent.
func Figures(v float64, n int) string {
	if v == 0 {
		return "0"
	}
	r := Round(v, n)
	decimals := n - int(math.Ceil(math.Log10(math.Abs(r)+1e-300)))
	if math.Abs(r) >= 1 {
		decimals = n - (int(math.Floor(math.Log10(math.Abs(r)))) + 1)
	}
	decimals = min(max(decimals, 0), 6)
	s := strconv.FormatFloat(r, 'f', decimals, 64)
	if strings.Contains(s, ".") && math.Abs(r) < 10 {
		s = strings.TrimRight(strings.TrimRight(s, "0"), ".")
	}
	return group(s)
}

// group puts commas between thousands of numbers of five digits and more.
func group(s string) string {
	sign := ""
	if strings.HasPrefix(s, "-") {
		sign, s = "-", s[1:]
	}
	whole, frac, _ := strings.Cut(s, ".")
	if len(whole) >= 5 {
		var parts []string
		for len(whole) > 3 {
			parts = append([]string{whole[len(whole)-3:]}, parts...)
			whole = whole[:len(whole)-3]
		}
		whole = strings.Join(append([]string{whole}, parts...), ",")
	}
	if frac != "" {
		whole += "." + frac
	}
	return sign + whole
}

// Volume prints a volume of water with two significant figures below 100 and
// three above.
func (u Units) Volume(litres float64) string {
	if endless(litres) {
		return "no end"
	}
	if u == Metric {
		return volumeFigures(litres) + " L"
	}
	return volumeFigures(unit.Litres(litres).Gallons()) + " gal"
}

// VolumeRange prints the P10 and P90 of a volume.
func (u Units) VolumeRange(p10, p90 float64) string {
	print := func(litres float64) string {
		switch {
		case endless(litres):
			return "no end"
		case u == US:
			return volumeFigures(unit.Litres(litres).Gallons())
		}
		return volumeFigures(litres)
	}
	return print(p10) + " to " + print(p90)
}

// endless tells a life that never ends: documents hold 1e9 L for it.
func endless(litres float64) bool { return litres >= 0.99e9 }

// VolumeUnit names the unit of Volume.
func (u Units) VolumeUnit() string {
	if u == Metric {
		return "L"
	}
	return "gal"
}

func volumeFigures(v float64) string {
	if math.Abs(v) < 10 {
		return Figures(v, 2)
	}
	if math.Abs(v) < 1000 {
		return Figures(v, 2)
	}
	return Figures(v, 3)
}

// Flow prints a flow of water.
func (u Units) Flow(litresPerMinute float64) string {
	if u == Metric {
		return Figures(litresPerMinute, 2) + " L/min"
	}
	return Figures(unit.LitresPerMinute(litresPerMinute).GallonsPerMinute(), 2) + " gal/min"
}

// Pressure prints a pressure drop.
func (u Units) Pressure(kPa float64) string {
	if u == Metric {
		return Figures(kPa, 2) + " kPa"
	}
	return Figures(unit.Kilopascals(kPa).PSI(), 2) + " psi"
}

// Resin prints a volume of resin.
func (u Units) Resin(litres float64) string {
	if u == Metric {
		return Figures(litres, 3) + " L"
	}
	return Figures(unit.Litres(litres).CubicFeet(), 2) + " ft3"
}

// Money prints an amount with the currency in front, whole units from 20 on.
func Money(currency string, v float64) string {
	sign := ""
	if v < 0 {
		sign, v = "-", -v
	}
	symbol := currency + " "
	if currency == "USD" {
		symbol = "$"
	}
	if v < 20 {
		return sign + symbol + strconv.FormatFloat(v, 'f', 2, 64)
	}
	return sign + symbol + group(strconv.FormatFloat(Round(v, 3), 'f', 0, 64))
}

// Ratio prints a ratio such as a life ratio: 1.00, 8.3, 16.
func Ratio(v float64) string {
	switch {
	case v < 2:
		return strconv.FormatFloat(v, 'f', 2, 64)
	case v < 10:
		return strconv.FormatFloat(v, 'f', 1, 64)
	case v > 1000:
		return "over 1000"
	}
	return fmt.Sprintf("%.0f", v)
}

// Percent prints a share as a whole percentage.
func Percent(share float64) string { return fmt.Sprintf("%.0f %%", share*100) }

// Concentration prints mg/L with three significant figures.
func Concentration(v float64) string { return Figures(v, 3) }
