package bed

import (
	"math"

	"forebed/chem/unit"
)

// viscosity returns the dynamic viscosity of water in Pa s, 0 to 100 degC, at
// 0.1 MPa: sum of a (T/300 K)^b. Source: IAPWS SR6-08 (2011), equation for
// the viscosity of liquid water at 0.1 MPa; 1 % or better. Coefficients from
// memory, checked by a test against the 0.8900 mPa s at 25 degC and 1.306 at
// 10 degC of handbooks.
func viscosity(t unit.Celsius) float64 {
	l := math.Log(t.Kelvin() / 300)
	return 1e-6 * (280.68*math.Exp(-1.9*l) + 511.45*math.Exp(-7.7*l) + 61.131*math.Exp(-19.6*l) + 0.45903*math.Exp(-40*l))
}

// density of water in kg/m3: constant, within 0.8 % from 0 to 40 degC, which
// moves the transfer units by less than 0.3 %.
const density = 998.0

// diffusivity returns the mean diffusion coefficient of the salts in m2/s:
// 2.0e-9 at 25 degC, scaled by T over viscosity (Stokes and Einstein), which
// gives 1.3e-9 at 10 degC. Source: treatment ledger 2.4.
func diffusivity(t unit.Celsius, mu float64) float64 {
	const at25, mu25 = 2.0e-9, 0.8900e-3
	return at25 * (t.Kelvin() / 298.15) * (mu25 / mu)
}

// TransferUnits returns Nf of each half, the number of film transfer units in
// the bed: Nf = kf a L / u (treatment ledger 2.4), with
//
//	kf = Sh D / dp,  Sh = (1.09/e) (Re Sc)^(1/3)   0.0016 < Re < 55
//	a  = f 6 (1 - e) / dp                          f = volume share of the half
//
// The bed leaks exp(-Nf) of its feed when fresh, and its front is spread over
// about 1/Nf of its throughput. Source of Sh: Wilson and Geankoplis (1966),
// ledger B44, coefficient from memory.
func (v *Vessel) TransferUnits(s Service) Halves {
	mu := viscosity(s.Temperature)
	d := diffusivity(s.Temperature, mu)
	u := v.superficial(s)
	dp, e := float64(v.BeadDiameter), v.Void
	re, sc := u*dp/(mu/density), mu/density/d
	kf := 1.09 / e * math.Cbrt(re*sc) * d / dp
	all := kf * 6 * (1 - e) / dp * float64(v.Depth) / u
	return Halves{Cation: v.CationShare * all, Anion: (1 - v.CationShare) * all}
}

// superficial returns the velocity of the water in the empty bed, m/s.
func (v *Vessel) superficial(s Service) float64 {
	return float64(s.Flow) / 60000 / area(v.Diameter)
}

// PressureDrop returns the loss over the clean bed by Ergun's equation
//
//	dp/L = 150 mu u (1-e)^2 / (e^3 d^2) + 1.75 rho u^2 (1-e) / (e^3 d)
//
// Source: Ergun, Chem. Eng. Prog. 48 (1952) 89, from memory; the ledger's
// Ergun column of section 2.5 is a test. Fines and broken beads add to it.
func (v *Vessel) PressureDrop(s Service) unit.Kilopascals {
	u, d, e := v.superficial(s), float64(v.BeadDiameter), v.Void
	e3 := e * e * e
	perMetre := 150*viscosity(s.Temperature)*u*(1-e)*(1-e)/(e3*d*d) + 1.75*density*u*u*(1-e)/(e3*d)
	return unit.Kilopascals(perMetre * float64(v.Depth) / 1000)
}

// ServiceFlow returns the flow in bed volumes an hour; 8.02 is 1 gpm/ft3.
func (v *Vessel) ServiceFlow(s Service) float64 {
	return float64(s.Flow) * 60 / float64(v.Resin)
}
