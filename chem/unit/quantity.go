package unit

// MgPerL is a mass concentration in milligrams per litre of water. Ranges
// from 0 (nothing found) to about 40 000 (sea water).
type MgPerL float64

// MilligramPerLitre is one of them, for writing literals.
const MilligramPerLitre MgPerL = 1

// MmolPerL is an amount concentration in millimoles per litre of water.
type MmolPerL float64

// MillimolePerLitre is one of them, for writing literals.
const MillimolePerLitre MmolPerL = 1

// MeqPerL is a concentration of charge, or of resin load, in
// milliequivalents per litre of water.
type MeqPerL float64

// MeqPerLitre is one of them, for writing literals.
const MeqPerLitre MeqPerL = 1

// EqPerL is the capacity of a resin: equivalents per litre of that resin as
// it lies in the bed, voids included.
type EqPerL float64

// EquivalentPerLitre is one of them, for writing literals.
const EquivalentPerLitre EqPerL = 1

// MicroSPerCm is an electrical conductivity in microsiemens per centimetre,
// at 25 °C unless the name of the value says otherwise.
type MicroSPerCm float64

// MicrosiemensPerCentimetre is one of them, for writing literals.
const MicrosiemensPerCentimetre MicroSPerCm = 1

// Celsius is a temperature in degrees Celsius. Natural ground water lies
// between 0 and about 30.
type Celsius float64

// Kelvin returns the thermodynamic temperature in kelvin.
func (t Celsius) Kelvin() float64 { return float64(t) + 273.15 }

// Fahrenheit returns the temperature in degrees Fahrenheit.
func (t Celsius) Fahrenheit() float64 { return float64(t)*9/5 + 32 }

// Litres is a volume of water or resin.
type Litres float64

// Litre is one of them, for writing literals.
const Litre Litres = 1

const (
	litresPerGallon    = 3.785411784  // US gallon, exact: 231 in3
	litresPerCubicFoot = 28.316846592 // exact: 0.3048 m cubed
	kilogramsPerPound  = 0.45359237   // exact
	kilopascalsPerPSI  = 6.894757     // lbf/in2, from g = 9.80665 m/s2
	metresPerInch      = 0.0254       // exact
)

// Gallons returns the volume in US gallons.
func (v Litres) Gallons() float64 { return float64(v) / litresPerGallon }

// CubicFeet returns the volume in cubic feet.
func (v Litres) CubicFeet() float64 { return float64(v) / litresPerCubicFoot }

// Gallons is a volume given in US gallons.
func Gallons(g float64) Litres { return Litres(g * litresPerGallon) }

// CubicFeet is a volume given in cubic feet.
func CubicFeet(ft3 float64) Litres { return Litres(ft3 * litresPerCubicFoot) }

// LitresPerMinute is a flow of water.
type LitresPerMinute float64

// LitrePerMinute is one of them, for writing literals.
const LitrePerMinute LitresPerMinute = 1

// GallonsPerMinute returns the flow in US gallons a minute.
func (q LitresPerMinute) GallonsPerMinute() float64 { return float64(q) / litresPerGallon }

// GallonsPerMinute is a flow given in US gallons a minute.
func GallonsPerMinute(gpm float64) LitresPerMinute { return LitresPerMinute(gpm * litresPerGallon) }

// Metres is a length or depth.
type Metres float64

// Metre is one of them, for writing literals.
const Metre Metres = 1

// Inches is a length given in inches.
func Inches(in float64) Metres { return Metres(in * metresPerInch) }

// Inches returns the length in inches.
func (d Metres) Inches() float64 { return float64(d) / metresPerInch }

// Kilograms is a mass of resin, salt or medium.
type Kilograms float64

// Kilogram is one of them, for writing literals.
const Kilogram Kilograms = 1

// Pounds is a mass given in avoirdupois pounds.
func Pounds(lb float64) Kilograms { return Kilograms(lb * kilogramsPerPound) }

// Pounds returns the mass in avoirdupois pounds.
func (m Kilograms) Pounds() float64 { return float64(m) / kilogramsPerPound }

// Kilopascals is a pressure or a pressure drop.
type Kilopascals float64

// Kilopascal is one of them, for writing literals.
const Kilopascal Kilopascals = 1

// PSI is a pressure given in pounds-force per square inch.
func PSI(psi float64) Kilopascals { return Kilopascals(psi * kilopascalsPerPSI) }

// PSI returns the pressure in pounds-force per square inch.
func (p Kilopascals) PSI() float64 { return float64(p) / kilopascalsPerPSI }
