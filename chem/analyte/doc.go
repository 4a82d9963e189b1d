// Package analyte answers: what is this substance, and what is one
// milligram of it worth?
//
// One table (table.go) holds every analyte a report may carry: its id in the
// analysis document, its plain name, formula, charge, molar mass, the
// equivalents one mole loads on a resin, and the bases in which laboratories
// report it ("as N", "as CaCO3"). A number with unit and basis is turned into
// one quantity here, once, by Analyte.MgPerL; from then on no basis is
// carried beside a number.
//
// Atomic weights are the abridged (five-figure) standard atomic weights of
// CIAAW/IUPAC 2021 (source key AW21). Molar masses, equivalent weights and
// as-CaCO3 factors are computed from them, never typed.
//
// The table also owns the spellings under which reports name an analyte,
// including the characteristic names of the Water Quality Exchange (WQX)
// vocabulary of the US EPA and USGS.
package analyte
