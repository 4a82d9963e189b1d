// Completionstudy answers: how far off is a completed composition?
//
//	go run ./cmd/forebed/internal/completionstudy [-only TEXT] [-seed N] [-draws N] [-part 1|2] FOLDER
//	go run ./cmd/forebed/internal/completionstudy -fit FOLDER > chem/water/priors.json
//
// It reads the tables of real well analyses that it knows from a folder
// (testdata/wells holds the openly licensed ones), takes one sample a site, the
// latest of the most complete, with the six major ions, a charge-balance error
// of at most 10 %, and neither softened nor a field blank. Of each it keeps a
// few figures, completes the rest with package water, and compares with what
// the whole analysis says:
//
//   - total cations: the mean of cations and anions, meq/L, without iron and
//     manganese (partly particles in unfiltered samples);
//   - anion load: that mean, carbon dioxide from the same pH and alkalinity,
//     and silica where it was measured (left out on both sides elsewhere).
//
// Columns: number of sites; bias and |err|, the median of predicted/actual - 1
// and of its size; p75 and p90 of its size; inside, the share of sites whose
// truth lies between P10 and P90 (80 % if the bands are honest); +-half, half
// the band over its middle, at the median. pH counts as read in the field.
//
// -fit prints the statistics that package water draws from, -part takes every
// other site, so that one half can be fitted and the other scored, and -sites
// prints the chosen sites. The tables of Ohio, Indiana and Utah have no licence
// that allows a copy: they are read from the folder, and only the aggregate
// statistics enter the repository.
package main
