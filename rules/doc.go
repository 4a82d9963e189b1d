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
//   - A rig whose stages and vessels take all the pressure of the supply at its
//     peak flow breaks a must, and the plan names the flow that would leave 20
//     psi at the nozzle; less than 20 psi is a should.
//   - What can do lasting harm within days (E. coli, nitrate, nitrite, gas in a
//     closed room, acid with bleach, regenerating at home) is a stop, whatever
//     the water is used for: one bottle for an infant is enough. What harms over
//     years (arsenic, lead, uranium, fluoride and the like), what passes (copper
//     in the stomach) and what only points to a danger (coliform without
//     E. coli) is care, and a stop where the water is drunk.
//
// # The search
//
// A train is an ordered list of stages in slots (train.go), from the well to
// the vessel. The search grows all trains as a tree, so that trains that begin
// alike share the work, on 4 draws spread over the untreated lives (strata). A
// branch is not grown where the stage has nothing to do on the water that
// reaches it, or where in none of the draws it works or keeps its must limits
// whatever follows; of variants that leave the water in the same grade the
// cheapest stands for all and the others are tried on the best trains only.
// Each train gets its figures in the central draw: cost over the horizon, life
// of a fill, hours of upkeep, waste water. From the best of each aim (least
// cost, least upkeep, longest life) downwards the trains are judged by the
// rules on 16 draws, and those within a tenth of the best are tried on all
// draws; if the draws then disagree, the next ones are.
//
// The draws of waters, vessels and prices are paired across trains (common
// random numbers), each price and vessel with a generator of its own seeded by
// its name, so that a ratio of lives or a difference of costs holds the stages
// alone. P50 of every band is the value in one central draw, the one that lies
// nearest the middle of all in load, gas, silica, strong anions, hardness and
// metal; it has the typical vessel and the median of each range of prices.
// Identities hold in each draw, so they hold at P50 and need not at P10 and
// P90.
//
// The least cost is chosen by the mean over all draws of the cost over the
// horizon and an allowance, which ranks and is never shown as money: one fill
// in five years (or a tenth of the fills, if more) for each topic of which a
// recommended limit is broken at the vessel, half the equipment at a stage.
// Common practice, no source; it lets a cheap cartridge win over no filter at
// all. A train that only may keep its must limits makes the plan conditional
// and names the test, which costs less than equipment. So does a must limit on
// iron or manganese that nobody measured: no filter is bought for metal that
// may not be there.
//
// A stage is worth what the train loses when it alone is left out. It extends
// the life only if a fill lasts at least 2 % longer with it; otherwise it
// protects, and the plan names the limits that are broken without it.
//
// # Money
//
//	first    equipment, vessel, first fill
//	running  refills (fills - 1) x resin, hours, disposal; salt, oxidant,
//	         electricity by the litre; spare parts and hours by the calendar;
//	         water, sewer and well pump by the litre
//	fills    max(ceil(demand of the horizon / life), ceil(horizon / 5 years))
//
// in whole cents, so that parts add up to totals exactly. Demand grows by the
// year; 52 weeks make 12 months. Prices are ranges of 2024 US dollars (ledger
// section 7, common practice, no source), drawn as triangles, unless the owner
// states his own, which are fixed. Tanks of other sizes follow the six-tenths
// rule. No interest is counted: payback is the simple payback of textbooks.
// Equipment is taken to last the horizon but for the parts in its upkeep.
//
// Comparisons (compare.go) use the same account. Where the cheaper of two plans
// changes with demand or with the strength of the feed is solved by bisection
// on the central draw with fills counted in parts (a whole number of fills
// would make steps of it); a feed is made stronger by multiplying all its
// minerals, carbon and silica, which leaves its pH about where it was.
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
