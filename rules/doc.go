// Package rules answers: what should stand before the bed, and why?
//
// # Rules
//
// Rules are data (packs/*.yaml; what the program carries is packs/ready.json,
// written from them by go generate). A rule says where it is judged (the feed
// of the vessel, of every stage or of a kind of stage, the site, the report),
// its weight (must, should, caution, advice, ask), when it speaks, why, what to
// do, and where it comes from. A condition is a tree of all, any and not over
// leaves that compare one quantity with a limit in a unit that fits it; it is
// no program, so the search can read limits out of it and a person can read
// all of it.
//
// A condition is judged in three values on intervals:
//
//	x above L    yes if low > L, no if high <= L, else maybe
//	all          the least of its parts, with no < maybe < yes (Kleene)
//	any          the greatest of its parts
//	not          yes and no exchanged
//
// What is measured is an interval of one point, a non-detect runs from 0 to its
// limit, a pad of a strip over its step, and what nobody knows over everything.
// Over many equally likely waters (draws, from package water) a rule gives the
// share in which it holds: above one half it holds, below a tenth it does not,
// between it is a maybe and the train conditional. A maybe names the tests
// that would settle it. Of what nobody measured the draws hold what is usual in
// wells; chlorine, sulfide, turbidity and organics have no such statistics and
// stay unknown, unless the site speaks: a supply that is not chlorinated holds
// no chlorine, water without a smell hardly any sulfide. A rule whose doubt
// rests on nothing but ignorance is given only where it is a must: what to
// look for is the business of the asks.
//
// Rules about the report are judged on the report alone, without the draws:
// nobody is to be warned of nitrate because other wells have it. Rules about
// the site are judged on raw water. All others are judged on the water that
// enters their place.
//
// Packs of a user may add rules, make rules stricter and silence them. A
// safety caution (safety: true) cannot be silenced, nor can a limit be made
// milder. Every fault of a pack is named with its place, what was found and one
// remedy.
//
// # Sources
//
// Each rule cites its source in words, its status (seen in a stored copy, from
// memory, common practice, computed) and the rows of the project's reference
// ledgers behind it; testdata/coverage.csv lists every row and where it is
// used. Limits for people's health are those of November 2026 and name what is
// in motion: the lead action level (0.015 mg/L, 0.010 from 2027-11-01) and the
// PFAS limits (PFOA and PFOS 4 ng/L by 2029; the others proposed for
// withdrawal in May 2026). They are called out although resin does not care,
// and are no health advice.
//
// # Judgements that are ours
//
//   - Iron above 0.1 and manganese above 0.05 mg/L at resin that is thrown away
//     or exchanged is a should: fouled resin leaves with the fill. It is a must
//     where the bed is regenerated on site or the next stage is a membrane.
//     What one fill takes in is judged apart, at the textbook marks of 1 and
//     5 g of iron per litre of resin, and so are particles that plug.
//   - Chloramine has no printed limit for resin: 0.5 mg/L is a must and
//     0.1 mg/L a should, both common practice.
//   - What can hurt within days (E. coli, nitrate, nitrite, gas in a closed
//     room, acid with bleach, regenerating at home) is a stop; what harms over
//     years is care, and a stop where the water is drunk.
//
// # The search
//
// Every train of stages that order and windows admit is tried on a few draws,
// those in reach of an optimum on all; see search.go, cost.go and plan.go.
//
// # Left out
//
// Oil and grease (ledger D13) and foaming agents: no reader knows them; the
// rule on exchange services mentions oil. Ozone, chlorine dioxide and peroxide
// as oxidants: no stage of the catalogue feeds them. Antiscalant dosing. The
// silt density index, which nobody measures at home, stands for itself in the
// remedy of the turbidity limit. A rule sees each place by itself: it cannot
// compare the waters at two places.
package rules
