package labreport

// interpret reads the rows of a report whose layout is not known beforehand.
func interpret(src source, o Options) (*Reading, error) {
	return nil, refuse(ErrNoResults, o, 0, "no result", "a water analysis", "paste the table with the results")
}
