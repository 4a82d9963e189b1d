package water_test

import (
	"testing"

	"forebed/chem/analysis"
	"forebed/chem/unit"
	"forebed/chem/water"
)

func BenchmarkWithCarbon(b *testing.B) {
	w := feed(b, table(b, "solver/waters.csv", 24)[5])
	w.Ion[water.Calcium] += 0.3
	b.ReportAllocs()
	for b.Loop() {
		if _, err := w.WithCarbon(5); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkWithPH(b *testing.B) {
	w := feed(b, table(b, "solver/waters.csv", 24)[5])
	b.ReportAllocs()
	for b.Loop() {
		if _, err := w.WithPH(7.1); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkConductivity(b *testing.B) {
	w := feed(b, table(b, "solver/waters.csv", 24)[5])
	b.ReportAllocs()
	for b.Loop() {
		water.Conductivity(&w)
	}
}

func BenchmarkSaturation(b *testing.B) {
	w := feed(b, table(b, "solver/waters.csv", 24)[5])
	b.ReportAllocs()
	for b.Loop() {
		w.Saturation()
	}
}

func BenchmarkComplete(b *testing.B) {
	s := analysis.Sample{}
	add := func(r analysis.Result, v float64) {
		r.Value = analysis.Number(v)
		s.Results = append(s.Results, r)
	}
	add(analysis.Result{Analyte: "hardness", Unit: unit.MgL, Basis: "CaCO3"}, 300)
	add(analysis.Result{Analyte: "alkalinity", Unit: unit.MgL, Basis: "CaCO3"}, 250)
	add(analysis.Result{Analyte: "conductivity", Unit: unit.USCm}, 700)
	add(analysis.Result{Analyte: "ph", Unit: unit.PH}, 7.2)
	b.ReportAllocs()
	for b.Loop() {
		if _, err := water.Complete(s, water.Options{}); err != nil {
			b.Fatal(err)
		}
	}
}
