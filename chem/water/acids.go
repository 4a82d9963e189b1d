package water

import "forebed/chem/unit"

// Acids holds the dissociation constants of one temperature, on activities,
// mol/L.
type Acids struct {
	Carbonic1, Carbonic2 float64 // CO2 + H2O = HCO3- + H+ = CO3-- + 2 H+, PB82
	Silicic              float64 // H4SiO4 = H3SiO4- + H+
	Sulfide              float64 // H2S = HS- + H+
	Water                float64 // H2O = H+ + OH-
}

// AcidsAt returns the constants that this package speciates with, for models
// that close their own charge balance.
func AcidsAt(t unit.Celsius) Acids {
	eq := at(t)
	return eq.acids()
}

// Acids returns AcidsAt the temperature of a water.
func (w *Water) Acids() Acids { return w.equilibria().acids() }

func (eq *equilibria) acids() Acids {
	return Acids{Carbonic1: eq.k1, Carbonic2: eq.k2, Silicic: eq.silicic, Sulfide: eq.sulfide, Water: eq.kw}
}
