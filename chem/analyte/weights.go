package analyte

import (
	"fmt"
	"strconv"
)

// atomic holds the standard atomic weights in g/mol, abridged to five
// figures. Source: AW21 (CIAAW/IUPAC 2021), ledger row A-AW, status "seen".
var atomic = map[string]float64{
	"H": 1.008, "Li": 6.94, "Be": 9.0122, "B": 10.81, "C": 12.011, "N": 14.007, "O": 15.999, "F": 18.998,
	"Na": 22.990, "Mg": 24.305, "Al": 26.982, "Si": 28.085, "P": 30.974, "S": 32.06, "Cl": 35.45,
	"K": 39.098, "Ca": 40.078, "V": 50.942, "Cr": 51.996, "Mn": 54.938, "Fe": 55.845, "Co": 58.933,
	"Ni": 58.693, "Cu": 63.546, "Zn": 65.38, "As": 74.922, "Se": 78.971, "Br": 79.904, "Sr": 87.62,
	"Mo": 95.95, "Ag": 107.87, "Cd": 112.41, "Sb": 121.76, "Ba": 137.33, "Hg": 200.59, "Tl": 204.38,
	"Pb": 207.2, "U": 238.03,
}

// MolarMass returns the molar mass of a plain formula such as "CaCO3" or
// "SiO2" in g/mol, from the standard atomic weights. Parentheses and charges
// are not understood; an unknown element is an error.
func MolarMass(formula string) (float64, error) {
	var sum float64
	for i := 0; i < len(formula); {
		j := i + 1
		for j < len(formula) && 'a' <= formula[j] && formula[j] <= 'z' {
			j++
		}
		w, ok := atomic[formula[i:j]]
		if !ok {
			return 0, fmt.Errorf("formula %q: no element %q in the table of atomic weights", formula, formula[i:j])
		}
		n := 1
		k := j
		for k < len(formula) && '0' <= formula[k] && formula[k] <= '9' {
			k++
		}
		if k > j {
			var err error
			if n, err = strconv.Atoi(formula[j:k]); err != nil {
				return 0, fmt.Errorf("formula %q: %w", formula, err)
			}
		}
		sum += w * float64(n)
		i = k
	}
	if sum == 0 {
		return 0, fmt.Errorf("formula %q is empty", formula)
	}
	return sum, nil
}

// mass is MolarMass for the formulas of this package's own table.
func mass(formula string) float64 {
	m, err := MolarMass(formula)
	if err != nil {
		panic(err) // a slip in our own table; a test walks all of it
	}
	return m
}

// CaCO3Equivalent is the equivalent weight of calcium carbonate in mg/meq
// (g/eq): half its molar mass, 50.043. "As CaCO3" figures divide by it.
var CaCO3Equivalent = mass("CaCO3") / 2
