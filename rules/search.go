package rules

import (
	"cmp"
	"context"
	"errors"
	"fmt"
	"runtime"
	"runtime/debug"
	"slices"
	"sync"
	"sync/atomic"

	"forebed/chem/analysis"
	"forebed/chem/bed"
	"forebed/chem/process"
	"forebed/chem/water"
)

// Input is what a plan is made from.
type Input struct {
	Sample *analysis.Sample   // what was reported; may be nil
	Water  *water.Composition // what is in the water, as draws
	Rig    Rig
	Rules  *Set // the rules in force; nil for the built-in ones
}

// Options steers a search. The zero value is a good start.
type Options struct {
	Draws   int            // draws of the composition to use; 0 for all
	Seed    uint64         // of the vessel and price draws; the same seed gives the same plan
	Workers int            // 0 for one a processor
	Force   []process.Kind // kinds that every train must have
	Forbid  []process.Kind // kinds that no train may have
	Cells   bool           // run the cell model too, on the central draw, without stages and with the plan
}

// ErrInput is the sentinel of an input that no search can start from.
var ErrInput = errors.New("no plan can be made of this")

func (o *Options) workers() int {
	if o.Workers > 0 {
		return o.Workers
	}
	return runtime.GOMAXPROCS(0)
}

const (
	treeDraws   = 4    // on which the tree of trains is grown
	judgeDraws  = 16   // on which the trains are judged that come up for an aim
	reach       = 1.10 // a train within this factor of a reported optimum is tried on all draws
	mostReached = 6    // trains tried on all draws for each optimum
	mostRounds  = 8    // of looking for optima that all draws confirm
)

// Search tries the trains that the order and window rules admit and returns
// the plan. The same input and seed give the same plan, whatever the number
// of workers.
func Search(ctx context.Context, in Input, o Options) (*Plan, error) {
	s, err := newSearch(ctx, &in, o)
	if err != nil {
		return nil, err
	}
	if err := s.screen(); err != nil {
		return nil, err
	}
	if err := s.reach(); err != nil {
		return nil, err
	}
	return s.plan()
}

// search is one search under way.
type search struct {
	ctx      context.Context
	in       *Input
	o        Options
	full     *bench                            // on all draws
	small    *bench                            // on the stratified draws
	tree     *bench                            // on the few that the tree is grown on
	places   [][]car                           // the stages that may fill each slot
	branch   [][]car                           // the same, the cheapest variant of a kind first
	microbes bool                              // the report found some
	orders   map[process.Stage][]process.Order // see ordersOf
	musts    map[process.Kind]*Limits

	tally  Tally
	trains []score              // every train, in order of enumeration
	known  map[trainKey]bool    // the trains screened
	rides  map[trainKey]*ridden // trains tried on all draws
	legs   map[trainKey]*leg    // beginnings of trains carried through all draws
}

// score is what screening learns of a train: its figures in the central draw.
type score struct {
	t     train
	legs  []*leg // on the bench of the tree
	cost  Cents
	life  float64 // L between refills
	hours float64 // a year
	waste float64 // L a year
	order int

	judged  bool
	admit   bool
	broken  int // must limits broken in more than half of the stratified draws
	penalty Cents
	mean    float64 // of cost and penalty over the draws it was judged on, cents
}

func newSearch(ctx context.Context, in *Input, o Options) (*search, error) {
	if in.Water == nil || len(in.Water.Draws) == 0 {
		return nil, fmt.Errorf("%w: the composition has no draws", ErrInput)
	}
	if len(in.Rig.Vessels) == 0 {
		return nil, fmt.Errorf("%w: the rig has no vessel; start from DefaultRig", ErrInput)
	}
	in.Rig = in.Rig.suit(in.Sample)
	if in.Rules == nil {
		var err error
		if in.Rules, err = Merge(Builtin()...); err != nil {
			return nil, err
		}
	}
	draws := in.Water.Draws
	if o.Draws > 0 && o.Draws < len(draws) {
		draws = draws[:o.Draws]
	}
	if in.Rig.unchlorinated() {
		draws = slices.Clone(draws)
		for i := range draws {
			draws[i].Matter.Unknown &^= water.UnknownChlorine | water.UnknownChloramine
		}
	}
	s := &search{ctx: ctx, in: in, o: o, orders: map[process.Stage][]process.Order{}, known: map[trainKey]bool{}, rides: map[trainKey]*ridden{}, legs: map[trainKey]*leg{}}
	s.full = newBench(in, draws, o.Seed)
	s.small = s.full.pick(s.full.strata(judgeDraws))
	s.tree = s.full.pick(s.full.strata(treeDraws))
	for _, stage := range process.Catalogue() {
		s.orders[stage] = ordersOf(stage)
	}
	s.places = s.candidates()
	s.branch, s.microbes = s.byPrice(), in.microbes()
	s.musts = map[process.Kind]*Limits{}
	for _, k := range kinds {
		s.musts[k] = in.Rules.Limits(StageScope(k)).musts(s.full.report)
	}
	s.tally = Tally{Draws: len(draws), Seed: o.Seed}
	return s, nil
}

// unchlorinated reports whether the owner says that no chlorine is fed: then
// what nobody measured of it is taken to be none. The assumption stands in the
// plan with the others of the site.
func (r *Rig) unchlorinated() bool { return r.Site.PrivateWell && !r.Site.Chlorinated }

// candidates lists the stages that may fill each slot. Of an installed kind
// the installed stage and new ones of other variants may.
func (s *search) candidates() [][]car {
	places := make([][]car, len(slots))
	for i := range slots {
		for _, stage := range process.Catalogue() {
			if slots[i].fits(i, stage) && !slices.Contains(s.o.Forbid, stage.Kind()) {
				places[i] = append(places[i], car{slot: i, stage: stage, installed: s.in.Rig.hasInstalled(stage)})
			}
		}
	}
	return places
}

// byPrice lists the candidates of each slot with the cheapest first.
func (s *search) byPrice() [][]car {
	places := make([][]car, len(s.places))
	for i, cars := range s.places {
		places[i] = slices.Clone(cars)
		slices.SortStableFunc(places[i], func(a, b car) int {
			return cmp.Compare(s.in.Rig.Prices.typical(a), s.in.Rig.Prices.typical(b))
		})
	}
	return places
}

// microbes reports whether the report found any.
func (in *Input) microbes() bool {
	if in.Sample == nil {
		return false
	}
	for i := range in.Sample.Results {
		r := &in.Sample.Results[i]
		switch r.Analyte {
		case "total_coliform", "e_coli", "iron_bacteria":
			if r.Value != nil && *r.Value > 0 || r.Value == nil && !r.Nondetect && saysFound(r.AsWritten) {
				return true
			}
		}
	}
	return false
}

// typical price of a stage, whatever its size; nothing for an installed one.
func (p *Prices) typical(c car) float64 {
	if c.installed {
		return 0
	}
	row, _ := p.find("equipment/" + string(c.stage.Kind()) + "/" + c.stage.Variant())
	return row.Typical
}

// hasInstalled reports whether a stage stands there already. An installed
// stage of unnamed variant is taken for the first variant of its kind.
func (r *Rig) hasInstalled(stage process.Stage) bool {
	for _, in := range r.Installed {
		if in.Kind != stage.Kind() {
			continue
		}
		variant := in.Variant
		if variant == "" {
			for _, c := range process.Catalogue() {
				if c.Kind() == in.Kind {
					variant = c.Variant()
					break
				}
			}
		}
		if variant == stage.Variant() {
			return true
		}
	}
	return false
}

// branch is the beginning of trains: its stages and the waters behind each of
// them.
type branch struct {
	t    train
	legs []*leg
}

// screen grows the tree of trains and works out the figures of each. Trains that begin alike
// share the work of their beginning. The first levels of the tree are grown
// breadth first, so that there is work for all workers; each then climbs
// branches of its own.
func (s *search) screen() error {
	const levels = 2
	level := []branch{{}}
	for range levels {
		if err := s.climb(level, false); err != nil {
			return err
		}
		next := make([][]branch, len(level))
		err := s.parallel(len(level), func(i int) error {
			next[i] = s.grow(level[i])
			return nil
		})
		if err != nil {
			return err
		}
		level = slices.Concat(next...)
	}
	return s.climb(level, true)
}

// climb scores the trains that branches are and, when deep, all that begin
// with them.
func (s *search) climb(level []branch, deep bool) error {
	found := make([][]score, len(level))
	err := s.parallel(len(level), func(i int) error { return s.visit(level[i], deep, new(account), &found[i]) })
	for _, sc := range slices.Concat(found...) {
		s.add(sc)
	}
	return err
}

func (s *search) visit(b branch, deep bool, room *account, out *[]score) error {
	if err := s.ctx.Err(); err != nil {
		return err
	}
	if b.t.complete() && s.o.allows(b.t) {
		sc, err := s.tree.score(room, b.t, b.legs)
		if err != nil {
			return err
		}
		*out = append(*out, sc)
	}
	if !deep {
		return nil
	}
	for _, next := range s.grow(b) {
		if err := s.visit(next, true, room, out); err != nil {
			return err
		}
	}
	return nil
}

// grow returns the branch with each stage that may follow it and is worth
// going on with. Of variants that do the same to the water the cheapest
// stands for all; see variants.
func (s *search) grow(b branch) []branch {
	var out []branch
	from := 0
	if n := len(b.t); n > 0 {
		from = b.t[n-1].slot + 1
	}
	in := s.tree.feed(b.legs, len(b.legs))
	var last *leg
	if len(b.legs) > 0 {
		last = b.legs[len(b.legs)-1]
	}
	tried := map[process.Stage]*leg{} // a stage does the same in each slot that it may fill next
	type gate struct {
		kind      process.Kind
		installed bool
	}
	gates := map[gate]bool{} // kinds that are barred, or not: no limit of a kind knows its variants
	barred := func(c car) bool {
		k := gate{c.stage.Kind(), c.installed}
		shut, known := gates[k]
		if !known {
			shut = s.barred(b.t, c, in)
			gates[k] = shut
		}
		return shut
	}
	for slot := from; slot < len(s.branch) && !b.t.hopeless(slot); slot++ {
		var kept []*leg
		for _, c := range s.branch[slot] {
			if !b.t.follows(c, s.orders[c.stage]) || s.useless(b.t, c, in) || barred(c) {
				continue
			}
			g := tried[c.stage]
			if g == nil {
				g = s.tree.leg(last, c.stage)
				tried[c.stage] = g
			}
			if s.promising(c, g) && !slices.ContainsFunc(kept, g.asGood) {
				kept = append(kept, g)
				out = append(out, branch{append(slices.Clip(b.t), c), append(slices.Clip(b.legs), g)})
			}
		}
	}
	return out
}

// useless reports whether a stage has nothing to do on the water that reaches
// it.
func (s *search) useless(t train, c car, in []water.Water) bool {
	k := c.stage.Kind()
	if c.installed || slices.Contains(s.o.Force, k) {
		return false
	}
	if p, listed := purposes[k]; listed && !p.servesAny(in) || (forMetal(k) || c.slot == slotFerrous) && !s.metalOrSulfide(in) {
		return true
	}
	switch {
	case k == process.OxidantFeed && t.has(process.Aeration): // both, only for what one cannot do alone
		return !slices.ContainsFunc(in, func(w water.Water) bool { return w.SulfideMilligrams() > 1 })
	case k == process.Disinfection:
		return !s.microbes
	}
	return false
}

// forMetal reports whether a kind of stage is there for iron, manganese or
// sulfide.
func forMetal(k process.Kind) bool {
	return k == process.Aeration || k == process.OxidantFeed || k == process.OxidizingMediaFilter
}

// metalOrSulfide reports whether any of the waters holds iron, manganese or
// sulfide that is worth taking out. Metal that nobody measured does not count.
func (s *search) metalOrSulfide(in []water.Water) bool {
	iron, manganese := !guessed(s.full.report, qIronTotal), !guessed(s.full.report, qManganese)
	return slices.ContainsFunc(in, func(w water.Water) bool {
		all := process.AnyIron.Of(&w)
		return iron && all > 0.09 || manganese && process.IronAndManganese.Of(&w)-all > 0.045 || w.SulfideMilligrams() > 0.05
	})
}

// barred reports whether a must limit of a stage is broken by the water that
// reaches it in every draw of the tree, whatever follows behind it and whatever
// its size: then hardly a train that goes on from here is admissible. What
// depends on size and on the stages behind is unknown here, so such rules say
// maybe at most.
func (s *search) barred(t train, c car, in []water.Water) bool {
	if slices.Contains(s.o.Force, c.stage.Kind()) {
		return false
	}
	limits := s.musts[c.stage.Kind()] // those that rest on measured quantities
	if len(limits.Rules()) == 0 {
		return false
	}
	v := *s.tree.site
	v.Upstream(t.kinds())
	v.Flag(qInstalled, c.installed)
	verdicts := make([]Verdict, len(limits.Rules()))
	broken := make([]int, len(verdicts))
	for d := range in {
		v.SetWater(&in[d])
		limits.Judge(&v, verdicts)
		for r, x := range verdicts {
			if x == Yes {
				broken[r]++
			}
		}
	}
	return slices.Max(broken) == len(in)
}

// promising reports whether a stage does something to some water and is not
// ruined in every draw. One that does not work (Refuses) changes nothing of
// what it is there for, so what follows behind it decides.
func (s *search) promising(c car, g *leg) bool {
	if !g.changed && c.slot != slotInlet && !c.installed && !slices.Contains(s.o.Force, c.stage.Kind()) {
		return false // one sample does not show the grit of a well, so a filter at the inlet is always tried
	}
	all := len(g.out)
	for k, window := range c.stage.Facts().Windows {
		if window.Effect == process.Damages && int(g.outside[k]) == all && !guessed(s.full.report, windowQuantity(window.Quantity)) {
			return false
		}
	}
	return g.failed < all
}

// add records a screened train.
func (s *search) add(sc score) {
	s.known[sc.t.key()] = true
	sc.order = len(s.trains)
	s.trains = append(s.trains, sc)
	s.tally.Trains++
	s.tally.Screened++
}

// parallel runs n tasks on the workers and returns the first error by task. A
// panic of a task goes on in the caller's goroutine, where it can be caught.
func (s *search) parallel(n int, do func(i int) error) error {
	errs := make([]error, n)
	var next atomic.Int64
	var wg sync.WaitGroup
	panics := make(chan string, min(s.o.workers(), n))
	for range cap(panics) {
		wg.Go(func() {
			defer func() {
				if p := recover(); p != nil {
					panics <- fmt.Sprintf("%v\n%s", p, debug.Stack())
				}
			}()
			for {
				i := int(next.Add(1)) - 1
				if i >= n || s.ctx.Err() != nil {
					return
				}
				errs[i] = do(i)
			}
		})
	}
	wg.Wait()
	if len(panics) > 0 {
		panic(<-panics)
	}
	if err := s.ctx.Err(); err != nil {
		return err
	}
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}

// score works out a train's figures in the central draw, in the room of an
// account that is no longer needed.
func (b *bench) score(a *account, t train, legs []*leg) (score, error) {
	if err := b.reopen(a, t, legs, b.sizes(t, legs, false)); err != nil {
		return score{}, err
	}
	life := b.life(b.central, &b.feed(legs, len(t))[b.central])
	bill := a.bill(b, b.central, life.Residue, nil)
	return score{t: t, legs: legs, cost: bill.total(), life: bound(life.Residue), hours: a.hours(b, bill.fills), waste: a.waste}, nil
}

// admit judges a screened train on the stratified draws, once.
func (s *search) admit(sc *score) error {
	if sc.judged {
		return nil
	}
	b, legs := s.small, s.spread(sc.legs)
	sizes := b.sizes(sc.t, legs, false)
	a, err := b.open(sc.t, legs, sizes)
	if err != nil {
		return err
	}
	lives := b.lives(legs)
	found := b.judge(sc.t, legs, sizes, lives)
	sc.judged = true
	for _, x := range found {
		if x.must && x.share > holdsAbove {
			sc.broken++
		}
	}
	sc.admit = sc.broken == 0
	bill := a.bill(b, b.central, lives[b.central].Residue, nil)
	sc.penalty = b.allowance(sc.t, a, found, bill.fills)
	sc.mean = 0
	for i := range lives {
		bill := a.bill(b, i, lives[i].Residue, nil)
		sc.mean += float64(bill.total()+sc.penalty) / float64(len(lives))
	}
	return nil
}

// spread returns legs of the tree on the stratified draws. Each is carried
// there when it is first asked for, whoever asks.
func (s *search) spread(legs []*leg) []*leg {
	out := make([]*leg, len(legs))
	for i, g := range legs {
		g.spread.Do(func() {
			var behind *leg
			if g.behind != nil {
				behind = g.behind.wide
			}
			g.wide = s.small.leg(behind, g.stage)
		})
		out[i] = g.wide
	}
	return out
}

// lives returns the life of a fill behind a train, in every draw.
func (b *bench) lives(legs []*leg) []bed.Life {
	feed := b.feed(legs, len(legs))
	lives := make([]bed.Life, len(feed))
	for i := range feed {
		lives[i] = b.life(i, &feed[i])
	}
	return lives
}

// aim is an optimum that the plan reports.
type aim struct {
	name   string
	byCost bool                      // judged from the cheapest train up, since an allowance only adds to a cost
	better func(a, b *score) int     // negative when a is the better one
	near   func(x, best *score) bool // x may be as good as the best, once all draws are counted
}

var aims = []aim{
	{name: "least_cost", byCost: true,
		better: func(a, b *score) int { return cmp.Compare(a.cost+a.penalty, b.cost+b.penalty) },
		near:   func(x, best *score) bool { return float64(x.cost+x.penalty) <= reach*float64(best.cost+best.penalty) }},
	{name: "least_upkeep",
		better: func(a, b *score) int { return cmp.Compare(a.hours, b.hours) },
		near:   func(x, best *score) bool { return x.hours <= best.hours*1.01+0.01 }},
	{name: "longest_life",
		better: func(a, b *score) int { return cmp.Compare(b.life, a.life) },
		near:   func(x, best *score) bool { return x.life*1.01 >= best.life }},
}

// reach judges the trains from the best of each aim downwards, tries those
// within reach on all draws, and goes on until the best of each aim is
// admissible on all draws or no train is left.
func (s *search) reach() error {
	if err := s.rideAll([]train{nil}); err != nil {
		return err
	}
	for range mostRounds {
		var todo []train
		for _, a := range aims {
			near, err := s.nearest(a)
			if err != nil {
				return err
			}
			for _, sc := range near {
				if s.rides[sc.t.key()] == nil {
					todo = append(todo, sc.t)
				}
			}
			if len(near) > 0 {
				if err := s.variants(near[0].t); err != nil {
					return err
				}
			}
		}
		if len(todo) == 0 {
			break
		}
		if err := s.rideAll(todo); err != nil {
			return err
		}
		for i := range s.trains {
			sc := &s.trains[i]
			if r := s.rides[sc.t.key()]; r != nil && sc.judged {
				sc.admit, sc.penalty = admissible(r.found), r.penalty
			}
		}
	}
	return nil
}

// variants screens the trains that differ from a good one by the variant of
// one stage, or by a kind of the same use: those that did the same to the water
// were passed over for one that is cheaper at its usual size.
func (s *search) variants(t train) error {
	for i, c := range t {
		for _, other := range s.places[c.slot] {
			if sameUse(other.stage.Kind()) != sameUse(c.stage.Kind()) || other.stage == c.stage {
				continue
			}
			u := slices.Clone(t)
			u[i] = other
			if s.known[u.key()] || !s.o.allows(u) {
				continue
			}
			sc, err := s.tree.score(new(account), u, s.tree.ride(u))
			if err != nil {
				return err
			}
			s.add(sc)
		}
	}
	return nil
}

// nearest returns the admissible trains within reach of an aim, best first.
func (s *search) nearest(a aim) ([]*score, error) {
	order := make([]*score, len(s.trains))
	for i := range s.trains {
		order[i] = &s.trains[i]
	}
	slices.SortFunc(order, func(x, y *score) int {
		if a.byCost {
			return cmp.Or(cmp.Compare(x.cost, y.cost), cmp.Compare(x.order, y.order))
		}
		return cmp.Or(a.better(x, y), cmp.Compare(x.cost, y.cost), cmp.Compare(x.order, y.order))
	})
	const chunk = 32
	var best *score
	var near []*score
	for from := 0; from < len(order); from += chunk {
		if best != nil && !a.near(order[from], best) {
			break
		}
		part := order[from:min(from+chunk, len(order))]
		if err := s.parallel(len(part), func(i int) error { return s.admit(part[i]) }); err != nil {
			return nil, err
		}
		for _, sc := range part {
			if sc.admit && (best == nil || a.better(sc, best) < 0) {
				best = sc
			}
		}
		for _, sc := range part {
			if sc.admit {
				near = append(near, sc)
			}
		}
	}
	if best == nil {
		return nil, nil
	}
	near = slices.DeleteFunc(near, func(sc *score) bool { return !a.near(sc, best) })
	slices.SortStableFunc(near, func(x, y *score) int {
		return cmp.Or(cmp.Compare(x.mean, y.mean), cmp.Compare(x.order, y.order))
	})
	return near[:min(len(near), mostReached)], nil
}

// ridden is a train that was tried on all draws.
type ridden struct {
	t       train
	legs    []*leg
	sizes   []*fitted
	account *account
	lives   []bed.Life
	bills   []bill
	hours   []float64 // a year
	waste   []float64 // L a year
	found   []breach
	penalty Cents
	mean    float64 // of total and penalty over the draws, cents
}

// carry carries the waters of all draws through the beginnings of trains, each
// beginning once.
func (s *search) carry(trains []train) error {
	for depth := 0; ; depth++ {
		type job struct {
			key    trainKey
			stage  process.Stage
			behind *leg
			leg    *leg
		}
		var jobs []job
		seen := map[trainKey]bool{}
		deeper := false
		for _, t := range trains {
			if len(t) <= depth {
				continue
			}
			deeper = true
			key := t[:depth+1].key()
			if s.legs[key] != nil || seen[key] {
				continue
			}
			seen[key] = true
			jobs = append(jobs, job{key: key, stage: t[depth].stage, behind: s.legs[t[:depth].key()]})
		}
		if !deeper {
			return nil
		}
		err := s.parallel(len(jobs), func(i int) error {
			jobs[i].leg = s.full.leg(jobs[i].behind, jobs[i].stage)
			return nil
		})
		if err != nil {
			return err
		}
		for _, j := range jobs {
			s.legs[j.key] = j.leg
		}
	}
}

// rideAll tries trains on all draws.
func (s *search) rideAll(trains []train) error {
	var todo []train
	seen := map[trainKey]bool{}
	for _, t := range trains {
		if k := t.key(); s.rides[k] == nil && !seen[k] {
			seen[k] = true
			todo = append(todo, t)
		}
	}
	if err := s.carry(todo); err != nil {
		return err
	}
	out := make([]*ridden, len(todo))
	err := s.parallel(len(todo), func(i int) error {
		t := todo[i]
		legs := make([]*leg, len(t))
		for k := range t {
			legs[k] = s.legs[t[:k+1].key()]
		}
		var err error
		out[i], err = s.full.try(t, legs)
		return err
	})
	if err != nil {
		return err
	}
	for i, t := range todo {
		s.rides[t.key()] = out[i]
	}
	return nil
}

// try works out lives, accounts and limits of a train in every draw of the
// bench.
func (b *bench) try(t train, legs []*leg) (*ridden, error) {
	r := &ridden{t: t, legs: legs}
	r.sizes = b.sizes(t, r.legs, true)
	var err error
	if r.account, err = b.open(t, r.legs, r.sizes); err != nil {
		return nil, err
	}
	n := len(b.raw)
	r.lives = b.lives(r.legs)
	r.bills, r.hours, r.waste = make([]bill, n), make([]float64, n), make([]float64, n)
	for i := range r.bills {
		r.bills[i] = r.account.bill(b, i, r.lives[i].Residue, nil)
		r.hours[i] = r.account.hours(b, r.bills[i].fills)
		r.waste[i] = r.account.waste
	}
	r.found = b.judge(t, r.legs, r.sizes, r.lives)
	r.penalty = b.allowance(t, r.account, r.found, r.bills[b.central].fills)
	for i := range r.bills {
		r.mean += float64(r.bills[i].total()+r.penalty) / float64(n)
	}
	return r, nil
}

// ride returns a train tried on all draws, trying it if need be.
func (s *search) ride(t train) (*ridden, error) {
	if err := s.rideAll([]train{t}); err != nil {
		return nil, err
	}
	return s.rides[t.key()], nil
}
