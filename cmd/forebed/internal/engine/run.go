package engine

import (
	"sync"

	"forebed/chem/bed"
	"forebed/chem/unit"
	"forebed/chem/water"
	"forebed/rules"
)

// Run is one fill of a vessel followed to exhaustion, cell by cell, with what
// it was run on.
type Run struct {
	Water   string // name of the water: "untreated water", "behind the plan"
	Vessel  *bed.Vessel
	Service bed.Service
	Supply  unit.Kilopascals // pressure ahead of the rig
	Ends    *bed.Ends
	Through *bed.Breakthrough
}

// RunBed follows a fill of the first vessel of a rig on a water.
func RunBed(name string, rig *rules.Rig, feed *water.Water) (*Run, error) {
	r := &Run{Water: name, Vessel: &rig.Vessels[0].Vessel, Ends: &rig.Ends, Supply: rig.Site.Pressure, Service: bed.Service{Flow: rig.Use.PeakFlow, Temperature: feed.Temperature}}
	var err error
	r.Through, err = bed.Run(r.Vessel, r.Service, r.Ends, feed, bed.Options{})
	return r, err
}

// Runs follows a fill on the untreated water and, where the stages change its
// life, on the water behind them. A water or rig of which no curve can be
// computed has none: the plan stands without the picture. A rig of several
// vessels has none either, since the life of the plan is that of all of them
// together.
func (r *Request) Runs(p *rules.Plan) []*Run {
	if len(r.Rig.Vessels) != 1 {
		return nil
	}
	feeds := []*water.Water{&p.Feeds.Untreated}
	if p.Life.Ratio.P50 > changes || p.Life.Ratio.P50 < 1/changes {
		feeds = append(feeds, &p.Feeds.WithPlan)
	}
	runs := make([]*Run, len(feeds))
	var all sync.WaitGroup
	for i, feed := range feeds {
		all.Go(func() {
			name := [...]string{"untreated water", "water behind the stages"}[i]
			if run, err := RunBed(name, &r.Rig, feed); err == nil {
				runs[i] = run
			}
		})
	}
	all.Wait()
	return runs
}

// changes is the ratio of lives from which the curve behind the stages is
// another one.
const changes = 1.02
