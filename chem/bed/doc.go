// Package bed answers: how long does this vessel last on this water?
//
// A mixed bed holds strong-acid cation resin in hydrogen form and strong-base
// anion resin in hydroxide form. Each half takes up its ions; what it gives,
// H+ and OH-, becomes water. Two models answer by one contract: Closed, a
// closed form without allocation for searches and Monte Carlo draws, and Run,
// a column of cells that gives the product against volume. RunSeries puts two
// vessels one behind the other, and Softener is the same column with a resin
// in sodium form and brine.
//
// Keys such as A12 or B46 are rows of the treatment ledger, which states for
// each figure its source and whether it was seen, computed or is from memory.
//
// # Cells (Run)
//
// Batches of water pass from cell to cell. A cell holds Qc and Qa equivalents
// of the resins; all amounts are per litre of batch, n being what water and
// resin hold together. With h = [H+], s and t the activities of the free sites
// of the two resins and K the exchange constants in the form of Gaines and
// Thomas (y equivalent share of the sites, c in mol/L):
//
//	cations   y = K c s^z                 n = z c + Qc y
//	anions    y = K c t^z                 n = z c + Qa y
//	carbon    y = Kb [HCO3] t + Kc [CO3] t^2       (one and two sites a mole)
//	silica    y = Ks [H3SiO4] t, hydrogen sulfide likewise
//	sites     sum y + KH h s = 1,  sum y + KOH [OH] t = 1
//	charge    sum z c + h = sum z c + [OH] + [HCO3] + 2 [CO3] + [H3SiO4] + [HS]
//
// Newton's method solves the three balances in ln s, ln t and ln h from the
// last solution of the cell, carried on along its last change; about two steps
// a cell. Where it fails, three nested brackets hold the answer; where they
// fail, Run returns an error with what is left over. The matrix is an arrow,
// so a step costs one pass over the ions. Uptake is practically irreversible
// while both halves work and becomes an exchange when one is spent; no further
// rule is needed for that.
//
// The film: water leaves a cell with c = c_eq + (c_in - c_eq) exp(-Nf/N), Nf
// from TransferUnits, one for each half (carbon and silica with the anions).
// Without film (Nf infinite) the column is one of local equilibrium, which the
// tests hold to the published exchange column of the USGS (Parkhurst and
// Appelo 2013, example 11) within 5e-5 mmol/kgw and to thirteen columns of that
// general-purpose solver within 0.5 % of every threshold.
//
// Constants: cation affinities B02 to B10 (Bonner and Smith 1957, 8 % DVB) over
// hydrogen, in the softener over sodium, by plain division, the textbook way;
// divalent K = 2 Q k (ledger 2.3). Anion affinities B18 to B27, type I.
// Dissociation constants from package water at the temperature of service.
// Against the finite-rate simulation of the ledger (F09, other code) the ends
// agree within 5 %. Refining 40 cells to 160 moves lives by less than 2 %.
//
// # Closed form
//
// Every front is a constant pattern under film control. With T the throughput
// over the one at which the front would stand at the outlet if it were sharp
// and x = c/c0, an irreversible uptake breaks through at (Vermeulen, B46)
//
//	T = 1 + (1 + ln x)/Nf
//
// and one with separation factor r < 1 at
//
//	T = 1 + ((1 + ln x) - r (1 + ln(1 - x))) / (Nf (1 - r))
//
// (integrated from dx/dT = Nf (x - r x/(1 - (1-r) x)), centroid at T = 1).
//
// Capacity ends (Life.Cation, Life.Anion): capacity as filled over load, times
// T at x = 0.01. Carbon and silica load one equivalent a mole (A33, A34).
//
// Carbonate (Life.Carbonic): on the resin, one mole of carbon holds 2/(1+p)
// sites, p + r p^2 = 1, r = Kc K2/(Kb^2 K1 [CO2]): one in concentrated, up to
// two in dilute or alkaline water. The strong anions A push an equal load of
// carbon ahead of them, so the front stands at q/(A + sites C).
//
// Silica (Life.Silica): the other anions push a zone of silica ahead of them.
// Its resin holds y = k c/(1 + k c), k = Ks Ka/Kw against hydroxide (Ka the
// dissociation constant of silicic acid), and the balance over the front
// behind it gives the concentration of the zone, c = si + (A + sites C) y,
// which is nearly the whole anion load. The zone arrives at q y/c. While it is
// only w = Nf (1 - arrival/that of the front behind) transfer units long, the
// peak is c - (c - si) exp(-w). The leading edge is a constant pattern with
// r = 1 - y below that peak: so the silica end depends on the limit through
// ln(limit/peak), not on the limit over the feed alone.
//
// Residue (Life.Residue): the silica edge at limit/60.084 mmol/L if the peak
// reaches it, else metals (as sodium carbonate, 53 mg/meq) or sulfuric acid.
// If silica of the feed is below the limit the product comes back within it
// when the front behind has come through (Life.Back), and the bed serves on
// until metals or sulfuric acid add what the silica leaves (Life.Final).
//
// Metals among acid: once the anion half is through, the water in the bed is
// acid and sodium exchanges against hydrogen with r = a/(K + b); see
// unravelled. The time that passage takes is fitted to the cells, the one
// fitted piece of the closed form.
//
// Agreement with the cells over random waters (hard to sodium, 0.1 to 0.95 of
// the cations balanced by bicarbonate, 2 to 60 mg/L of silica, with and
// without membrane and degasser) at 30 to 130 transfer units, for 95 % of them
// and at worst: sodium 1 % end 2 and 6 %, carbonate 1 % end 1.5 and 4 %, silica
// 10 % end 2.5 and 4 %, residue end 2 and 3 %, final life 2 and 6 %. Left out
// of the last two is a limit within a third of the silica peak: there
// the life jumps from the band to the metals and neither model can tell which.
// Above pH 8.5, where carbonate rules, silica and residue end up to 7 % short.
// Life.Anion, a plain balance, lies up to a quarter above the cells on dilute
// or alkaline water and within 5 % elsewhere. Where the cation half ends first,
// its end and the residue end agree within 1 %, but Life.Silica and Life.Anion
// then lie up to a half above the cells: they tell what the anion half could
// have taken, not what comes out after the product has turned caustic.
//
// # Softener
//
// Service and regeneration alternate until the run settles. Equilibrium with
// ideal brine gives more than data sheets print (E24 to E27): they are 0.72 to
// 0.80 of it (SoftenerUsable). Leakage comes out at 0.2 to 5 mg/L for 6 to 15
// lb/ft3, as Davis (2010) states (E33), and grows with the square of the
// strength of the water.
//
// # Left out, and how much it matters
//
//   - Activities: ideal, under 5 % below 10 meq/L (ledger 2.7); they cancel in
//     exchange between ions of one charge.
//   - HSO4-: acid effluents of sulfate waters, thresholds up to 1.5 %.
//   - Diffusion in the beads: matters for sulfate, organics, old or cold resin.
//   - What stands on the resin as filled (the unconverted share): counted as
//     lost capacity, not as leakage; so is the share of the bed that the flow
//     does not reach (Vessel.Distribution).
//   - Precipitation, fouling, ageing, resins that separated in handling, rests
//     between rinses.
//   - Polymerisation of silica and the slow hydration of CO2: instant here.
//   - Type II anion resin: its affinity for sulfate is not in the ledger.
//   - Fluoride, ammonium and sulfate as weak acids and bases.
//   - Sulfide is held like bicarbonate, for want of a published affinity.
//
// No measured breakthrough curve of a mixed bed on a natural water was found.
// Run lengths are therefore computed, not validated by measurement, and Run
// says so in its notes.
package bed
