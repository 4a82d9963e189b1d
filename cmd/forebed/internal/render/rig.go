package render

import "forebed/rules"

// Rig composes a rig that was checked: what it is, and every default in it.
func Rig(r rules.Rig) []Block {
	d := &draft{}
	title := "The rig"
	if r.Name != "" {
		title += ": " + r.Name
	}
	d.title(title)
	d.lead("The document is in order. What it does not state takes these defaults; a plan prints them as assumptions.")
	assumptions(d, r.Assumptions)
	return d.blocks
}
