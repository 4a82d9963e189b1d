package bed

import "forebed/chem/unit"

// volumes are the fields of a life that are litres.
func (l *Life) volumes() [7]*unit.Litres {
	return [...]*unit.Litres{&l.Residue, &l.Back, &l.Final, &l.Silica, &l.Anion, &l.Cation, &l.Carbonic}
}

// each returns l with every volume put through f, together with m's.
func (l Life) each(m *Life, f func(a, b unit.Litres) unit.Litres) Life {
	theirs := m.volumes()
	for i, v := range l.volumes() {
		*v = f(*v, *theirs[i])
	}
	return l
}

// Scaled returns the life of a vessel that gets 1/f of the water.
func (l Life) Scaled(f float64) Life {
	return l.each(&l, func(a, _ unit.Litres) unit.Litres { return a * unit.Litres(f) })
}

// Sooner returns the life of two vessels that are refilled together when the
// first of them ends.
func (l Life) Sooner(m Life) Life {
	return l.each(&m, func(a, b unit.Litres) unit.Litres { return min(a, b) })
}

// Then returns the life of two vessels of which the second only begins to take
// up load when the first has ended.
func (l Life) Then(m Life) Life {
	return l.each(&m, func(a, b unit.Litres) unit.Litres { return a + b })
}

// LeadLag returns the water between swaps of two equal vessels in series of
// which l is the life of one alone: the lag takes what the front of the lead
// lets through, so that the film costs nothing and the lead is used to its
// last equivalent. RunSeries with SwapAtLag agrees within 5 %.
func (l Life) LeadLag() Life {
	if k := l.Kinetic; k.Anion > 0 && k.Cation > 0 {
		l.Anion /= unit.Litres(k.Anion)
		l.Cation /= unit.Litres(k.Cation)
		l.Usable.Anion /= k.Anion
		l.Usable.Cation /= k.Cation
	}
	l.Kinetic = Halves{Cation: 1, Anion: 1}
	l.Residue = min(l.Anion, l.Cation)
	l.Back, l.Final = l.Residue, l.Residue
	l.Silica, l.Carbonic = l.Anion, l.Anion
	return l
}
