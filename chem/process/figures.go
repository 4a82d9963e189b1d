package process

// Figures returns every figure that the stages use, in the order of the
// stages, with its range and source: what an assumption list or a review
// reads. A test holds that none is missing.
func Figures() []Figure {
	all := []Figure{
		outsideShare, pumpEfficiency, repumpPressure,
		valveDrop, backwashMinutes, rinseMinutes, wellPumpFlow, flocCapacity,
		nominalShare, floc5um, floc1um, flocDepth, cleanDrop, cartridgeLife, depthDays, solidsPerNTU,
		ebctShort, ebctLong, ebctCatalytic, ebctCatalyticLong, ebctBlock, rateFree, rateCombined, rateCatalytic, rateBlock, ratePH, rateWarm, carbonCapacity, sulfideOnCarbon, carbonMonths, blockMonths, carbonDays, blockDrop, blockFlow, blockMass,
		breakpoint, chlorinePerOrganics, permanganatePerIron, permanganatePerManganese, permanganatePerSulfide, permanganatePerOrganics, tanninMark, organicsMark,
		detention, chamberMinutes, openOxygen, chamberOxygen, openStrip, chamberStrip, sulfideByAir, ironRate, ironRateWarm, airCO2,
		chlorineResidual, disinfectResidual, chlorineMinutes, chlorineIron, chlorineManganese, permanganateMinutes, permanganateIron, permanganateManganese,
		mediaShare, coatedCapacity, mediaDays, manganeseByAirPH, manganeseByChlorPH,
		compensateIron, compensateManganese, softenerIron, softenerFloc, softenerDrain, softenerDays, softenerRest, saltBag,
		calciteApproach, magnesiaShare, calciteDepth, calciteRefill, calciteDays,
		degasResidual, degasSulfide, degasOxygen, blowerPower, breakTank,
		recoveryTap, recoveryPumped, membranePressure, flowPerDegree, osmoticRule, leastPressure, membraneHours, membraneLife, tankDays,
		trapTannin, trapCarbon, trapStrong, trapBicarbonate, trapSalt, trapDays, trapFlow,
		lampPower, lampDrop, lampMonths,
	}
	for _, m := range media() {
		all = append(all, m.service)
		if m.backwash.Value > 0 {
			all = append(all, m.backwash)
		}
	}
	return all
}

// media returns the fillings of the tanks.
func media() []*medium {
	return []*medium{&depthBed, &carbonBed, &coatedBed, &catalystBed, &oreBed, &softenerBed, &calciteBed, &trapBed}
}
