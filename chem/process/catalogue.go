package process

// Catalogue returns every kind and variant of stage, in the order of Kinds.
func Catalogue() []Stage {
	return nil
}

// Orders returns the rules of place between stages.
func Orders() []Order { return orders }

var orders []Order
