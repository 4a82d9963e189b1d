package process

// Catalogue returns every kind and variant of stage, in the order of the
// kinds.
func Catalogue() []Stage {
	return []Stage{
		&sediment5um, &sediment1um, &sedimentBed,
		&carbonGranular, &carbonDeep, &carbonBlock, &carbonCatalytic,
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
