// Package unit answers: in what is this number measured?
//
// One Go type a quantity, so that adding milligrams to milliequivalents does
// not compile, and one table of the units a report may state (Unit), so that
// a spelling is understood in one place.
//
// What the compiler does not refuse: a bare literal (life(2)) and a product of
// two quantities. Literals therefore go through the constants
// (2*unit.MeqPerLitre), and products and ratios live in named functions of the
// package that owns the law.
//
// This package imports nothing of ours. Conversions that need a molar mass
// (milligrams to milliequivalents, "as N", "as CaCO3") belong to package
// analyte; conversions here are fixed factors only.
//
// Sources of the factors: the US gallon is 231 cubic inches and the inch
// 25.4 mm, both exact by definition; the pound 0.45359237 kg and the grain
// 64.79891 mg, exact (international yard and pound agreement, 1959); the
// imperial gallon 4.54609 L, exact (UK Weights and Measures Act 1985).
package unit
