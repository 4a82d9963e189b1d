// Package process answers: what does this stage do to this water?
//
// A stage is physics with a size. Apply carries a water through it: what is
// taken out, what is left, what the ions become, what each litre uses, and
// which windows the water breaks. Size says what to buy for a duty. Facts says
// about the stage what rules and explanations quote: its windows, what it
// protects from, what it asks of the site. Water runs from the well to the
// vessel; duties run back (Size.Feed), because a membrane with a tank asks for
// more water than it gives, and for a steady trickle instead of a peak.
//
// # How ions move
//
// A stage changes only the strong ions (in mmol/L) and the total of inorganic
// carbon; water.WithCarbon then sets pH, CO2, HCO3 and CO3 so that the charges
// close. Alkalinity used or made is never written down: it follows.
//
//	sediment      particles; no ion
//	carbon        HOCl -> Cl + H;  NH2Cl -> NH4 + Cl              E10
//	aeration      CO2 and H2S out in part, O2 in; Fe -> floc      E11 E23 E72
//	bleach        +2 Na +1 Cl a Cl2, +1 Cl once it has reacted;
//	              Fe -> floc, H2S -> SO4, NH4 -> N2               E13 E15
//	permanganate  +1 K, +1 MnO2 (particles); Fe, Mn -> floc       E14
//	MnO2 media    Fe, Mn, H2S held; their acid stays              E16 E19 E20
//	softener      Ca, Mg, Sr, Ba, Fe, Mn -> Na, by equivalents    E34
//	calcite       +1 Ca a CaCO3, carbon kept (closed vessel)      E41
//	magnesia      +1 Mg a MgO                                     E42
//	degasser      CO2 to a residual, H2S                          E70
//	membrane      every ion in its own share, balanced            E45-E60
//	organics trap SO4, NO3, part of HCO3 -> Cl, by equivalents    E75
//	lamp          nothing                                         E77
//
// None of these but the membrane and, for its CO2, the degasser takes much
// load off a mixed bed; softening takes none (treatment ledger section 6, and
// a property test). They protect.
//
// # Laws
//
//   - Oxidants: electrons of both half reactions (Stoichiometry). Bleach is
//     dosed for iron, manganese, sulfide (to sulfate), ammonia (past the
//     breakpoint) and organics, and a residual; permanganate by the field rule
//     1 Fe + 2 Mn + 5 H2S and organics. Organics and sulfide that nobody
//     measured are left out, ammonia is that of wells, and Notes say so.
//   - Iron by air: -d[Fe]/dt = k [Fe] [OH]^2 pO2 (Stumm and Lee 1961), k =
//     8e13 L2 mol-2 atm-1 min-1 at 20 degC, a quarter for each 10 degC colder.
//     The pH is the mean of before and after.
//   - Manganese-dioxide beds spend the oxidant that the water brings, chlorine
//     before oxygen and iron before manganese; metal without oxidant passes.
//   - Carbon: first order in the empty-bed contact time, with the printed
//     dependence on pH and temperature.
//   - Membrane: plug flow at recovery Y, passage a = (1 - (1-Y)^p)/Y with p =
//     1 - rejection; one potential x for all ions, c = c_feed a x^z, closes
//     the charge (see membrane). Flow goes with 1.03^(T-25) and with the net
//     pressure.
//   - Calcite: closed-system equilibrium (water.Calcite).
//   - Softener: leakage by bed.SoftenerClosed; capacity by the trade's column
//     of salt settings.
//   - Beds: area from the service flow, volume from contact time or run;
//     clean drop by Ergun's equation (bed.Vessel.PressureDrop) and the valve.
//
// # Windows
//
// A Window is the range of one quantity of the entering water. Outside it the
// stage works less well, fouls, is damaged or does not work. Where a law is
// known Apply computes the loss; where none is, half of the effect is allowed
// (Figure "outside_share", no published figure). What does not work leaves
// unchanged what the stage is for: iron beside tannin may be bound to it, and
// nothing is promised for it. An unmeasured quantity makes its window unsure.
//
// # Sources
//
// Every number is a Figure, or a row of SaltSettings, ThinFilm, Elements,
// Cartridges or Tanks, with the ids of its ledger rows, the document behind
// them, and how well that was seen. The ledger's "common practice, no source"
// and "from memory" stay so marked. Figures lists them all.
//
// E10 prints 0.0282 meq/L of chloride for each mg/L of chlorine: that counts
// the dose, which brings one of the two. On a water whose chlorine was
// measured its chloride was too, and carbon adds the other: 0.0141.
//
// # Left out
//
//   - Rejection at another pressure, temperature or age than the printed one,
//     and OH- or H+ through the membrane (they follow by balance): on feeds of
//     pH 5 to 9 under 0.02 meq/L.
//   - Precipitation in stages: scale and floc are findings, not sinks.
//   - Chromatographic swings of the organics trap (its effect is the mean of a
//     run) and of the softener (its leakage is the one after regeneration).
//   - Uptake of organics on carbon, of radium, arsenic and uranium anywhere:
//     no promise is made.
//   - Ammonia on carbon and membrane gases other than CO2, H2S and O2.
//   - Potassium and ammonium on a softener, which holds them early in a run and
//     lets them go later: they pass. So does the charge of OCl- in a chlorine
//     residual (0.014 meq/L for 1 mg/L at most): it counts as HOCl.
//   - Iron bacteria, which no stage here cures.
package process
