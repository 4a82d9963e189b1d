package render

// WaterView is the water of a plan as the text shows it.
type WaterView struct {
	Summary string
}

func (v WaterView) write(p *page) { p.para("  ", v.Summary) }
