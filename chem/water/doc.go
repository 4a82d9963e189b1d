// Package water answers: what is in this water?
//
// It turns a sample, complete or three strip values, into a Composition: many
// draws of a Water, each exactly charge-balanced, the band of every ion, of
// carbon dioxide, silica, load, conductivity and dry residue, where each figure
// comes from, and what holding the figures of the report against each other
// found (Check).
//
// # The carbonate system
//
// Symbols: c concentration in mmol/L of water; z charge; I ionic strength in
// mol/L; gamma activity coefficient; h activity of H+, pH = -log10 h; T
// temperature. A Water holds total concentrations: ion pairs are part of their
// ions.
//
//	sum z·c(ions) + [H+] - [OH-] - [H3SiO4-] - [HS-] = 0          (balance)
//	Alk = sum of strong cations - (Cl + 2 SO4 + NO3 + F)          (strong)
//	    = [HCO3-] + 2[CO3--] + [OH-] - [H+] + [H3SiO4-] + [HS-]
//
// The strong ions fix the alkalinity. With pH (WithPH), total carbon
// (WithCarbon) or the pressure of carbon dioxide (WithPressure) the rest
// follows; Newton's method inside a bracket on ln h, repeated until I settles.
// Constants K1, K2 and Henry's are PB82, water DAT; gamma is Davies' with 0.3·I
// and A from the dielectric constant. 0 to 60 °C, I up to 0.1, pH 2 to 12. No
// carbonate pairs: in hard water CO2 comes out 0 to 2.5 % above a solver that
// has them. One mg/L is read as one mg/kg (0.3 % at most).
//
// # Sulfate pairs, saturation, conductivity
//
// CaSO4, MgSO4, NaSO4- and KSO4- (DAT, van 't Hoff) are solved where they
// matter: in the saturation indices and in Conductivity. Conductivity sums
// limiting conductivities (CRC) slowed by gamma^(0.53/sqrt|z|) over what is
// free: 1 % off for single salts, 3 % for chloride, sodium and bicarbonate
// waters of a solver, 2 to 12 % below it in sulfate waters, where the solver
// reads high. It was chosen over the formulas of the ledger on evidence: the
// legacy formula of Standard Methods 2510 reads 4 to 17 % low above 300 uS/cm,
// McCleskey's without its own pair set 4 to 14 % low in sulfate waters, Rossum's
// fails above 20 meq/L. Meters in 552 real wells show 0.964 of it
// (EmpiricalConductivity), at every size and sulfate share.
//
// # Completion
//
// Measured figures are kept within their error (methodErrors, or the interval
// of a strip's pad or of a non-detect); what is missing is drawn from the
// statistics of 858 real wells (priors.json, made by the command it names).
// Total equivalents come first: they exceed the larger of hardness and
// alkalinity by an excess whose distribution is known; sodium closes the
// cations, chloride and sulfate the anions. Where all ions were measured the
// imbalance is shared out by least squares. Candidates are then weighed by how
// well their conductivity and residue agree with the report and resampled. So
// one way serves every report, from hardness alone to a full analysis.
//
// Two regimes, humid and dry, differ in sodium, silica, iron and carbon dioxide;
// pH and alkalinity tell them apart. A pH read in a laboratory has lost carbon
// dioxide and is drawn back to the well. Metals known as a total only may be
// dissolved by any share. Where hardness and alkalinity are both below 2 meq/L
// the statistics are blind (no soft acid well is in them): a wide excess takes
// over, by judgement, and a caution says so. Where a meter shows more than
// nearly all wells have beside the ions drawn (sea water, road salt, softeners)
// the meter proposes the total; of a meter alone, from 8 meq/L on, a quarter of
// the draws is fresh water with such salt in it (judgement). An alkalinity or
// hardness that was not measured gives way to ions that were. Below pH 4.4 free
// acid takes the place of
// alkalinity, and carbon dioxide is that of wells.
//
// On wells whose figures were left out (cmd/forebed/internal/completionstudy)
// the total is off by 2.7 % at the median with hardness, alkalinity and
// conductivity, 3.3 % with the residue, 7.5 % with neither; the 10 to 90 % band
// holds the truth in 75 to 87 % of wells. Fitting on one half of the sites and
// scoring the other gives the same within half a percent.
//
// # Left out, and why
//
// Nitrite counts as nitrate and bromide as chloride; copper, zinc, lithium,
// aluminium, phosphate and borate are not counted (together below 1 % of the
// load in wells; aluminium can matter below pH 4.5). Ammonia above pH 8.5
// counts as ammonium (NH3 is 15 % of it at pH 8.5). HSO4- and hydroxide pairs
// are left out (below pH 3 and above 11). Organic anions are not counted: about
// 0.005 to 0.01 meq a mg of carbon. Particles are matter, not residue.
//
// # Sources by key
//
//   - PB82: Plummer and Busenberg (1982), Geochim. Cosmochim. Acta 46, 1011, as
//     held by the databases of the USGS geochemical program.
//   - DAT: those databases (Parkhurst and Appelo 2013, USGS Techniques and
//     Methods 6-A43); the text was seen.
//   - CRC: CRC Handbook, ionic conductivities, as carried by a public chemistry
//     library; ledger rows C-LAM.
//   - Standard Methods: Standard Methods for the Examination of Water and
//     Wastewater, sections 1030, 2320, 2340, 2510; tolerances from memory where
//     a row says so.
//   - ledger: the project's table of standards, whose row ids (D-K1, W-X1 ...)
//     stand beside constants and tests; well-statistics: the statistics of the
//     same wells that priors.json is made from.
package water
