package process

// Catalogue returns every kind and variant of stage, in the order of the
// kinds.
func Catalogue() []Stage {
	return []Stage{
		&sediment5um, &sediment1um, &sedimentBed,
		&carbonGranular, &carbonDeep, &carbonBlock, &carbonCatalytic, &carbonCatalyticDeep,
		&aerationOpen, &aerationChamber,
		&chlorineFeed, &permanganateFeed,
		&mediaCoated, &mediaCatalyst, &mediaOre,
		&softener6, &softener10, &softener15, &softenerFerrous,
		&neutralizerCalcite, &neutralizerBlend,
		&degasserTower,
		&membraneTap, &membranePumped,
		&organicsTrap,
		&ultraviolet, &chlorineDisinfection,
	}
}

// Kinds returns the kinds of stage, in the order of the catalogue.
func Kinds() []Kind {
	var kinds []Kind
	for _, s := range Catalogue() {
		if len(kinds) == 0 || kinds[len(kinds)-1] != s.Kind() {
			kinds = append(kinds, s.Kind())
		}
	}
	return kinds
}
