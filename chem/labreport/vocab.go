package labreport

import (
	"strings"
	"sync"

	"forebed/chem/analyte"
)

// class says what a word or phrase does in a report, beside naming analytes
// and units. A phrase may do several things.
type class uint32

const (
	clsNone      class = 1 << iota // found nothing: not detected, nil
	clsBelow                       // found nothing, below a limit that stands elsewhere on the row: BRL, BDL
	clsUntested                    // no measurement: not tested, n.b.
	clsPending                     // no measurement yet
	clsLess                        // less than, below
	clsMore                        // more than, above
	clsAbout                       // about, approximately
	clsTo                          // between the ends of a range
	clsLimit                       // a limit, goal or recommendation
	clsWords                       // a result in words: trace, slight
	clsPresent                     // organisms present
	clsAbsent                      // organisms absent
	clsTotal                       // fraction: total
	clsDissolved                   // fraction: dissolved
	clsAs                          // opens a basis: as, als, en
	clsQC                          // quality control of the laboratory
	clsPast                        // about another time
	clsOther                       // about another well
	clsPrelim                      // will be replaced
	clsFinal                       // replaces
	clsCount                       // a thing that is counted: years, people, mL
	clsTreated                     // after treatment
	clsRaw                         // before treatment
	clsProgram                     // text that talks to a program
	clsOverscale                   // more than the scale shows
	clsLegend                      // announces units for all that follows
	clsMonth
	clsRejected
	clsSkip    // the line is about the instrument or the handling of bottles
	clsCorrect // what follows puts the last figure right
	clsGuess   // a supposition: if, usually, for example
)

// entry is what the vocabulary knows about one phrase.
type entry struct {
	class class
	role  role
}

// vocabulary maps folded phrases to what they do, and the first word of each
// to the largest number of words of a phrase that begins with it. It is made on
// first use, because most commands read no report.
var vocabulary = sync.OnceValue(buildVocabulary)

type lexicon struct {
	phrases map[string]entry
	starts  map[string]int
}

// phrase returns what a folded phrase does.
func phrase(folded string) (entry, bool) {
	e, ok := vocabulary().phrases[folded]
	return e, ok
}

func buildVocabulary() lexicon {
	v, starts := map[string]entry{}, map[string]int{}
	add := func(words string, set func(*entry)) {
		for _, w := range strings.Split(words, ";") {
			for _, k := range analyte.Variants(w) {
				if k == "" {
					continue
				}
				e := v[k]
				set(&e)
				v[k] = e
				first, _, _ := strings.Cut(k, " ")
				starts[first] = max(starts[first], strings.Count(k, " ")+1)
			}
		}
	}
	for _, p := range phrases {
		add(p.words, func(e *entry) { e.class |= p.class })
	}
	for _, device := range devices {
		for _, the := range []string{"", "the ", "our ", "my ", "a ", "an ", "any "} {
			for _, w := range []string{"after ", "behind ", "past ", "downstream of ", "post "} {
				add(w+the+device, func(e *entry) { e.class |= clsTreated })
			}
			for _, w := range []string{"before ", "ahead of ", "upstream of ", "prior to ", "bypassing "} {
				add(w+the+device, func(e *entry) { e.class |= clsRaw })
			}
		}
	}
	for _, p := range headings {
		add(p.words, func(e *entry) {
			if e.role == roleNone {
				e.role = p.role
			}
		})
	}
	return lexicon{v, starts}
}

// devices treat water; what is drawn after one does not show the raw water.
var devices = []string{"softener", "water softener", "conditioner", "water conditioner", "filter", "filters", "filtration", "cartridge", "sediment filter", "sediment cartridge", "iron filter", "carbon filter", "carbon", "ro", "ro unit", "reverse osmosis",
	"reverse osmosis unit", "neutralizer", "neutraliser", "acid neutralizer", "treatment", "treatment system", "water treatment", "uv", "uv lamp", "aeration", "softening", "whole house filter", "purifier", "greensand", "birm", "tank filter", "pitcher filter", "chlorinator"}

// phrases are the words of reports in the languages of the survey. Common
// usage; no source.
var phrases = []struct {
	class class
	words string
}{
	{clsNone, `nd; n d; not detected; none detected; non detect; nondetect; non detected; undetected; nil; none found; nothing found; not found; not present; none; nothing detected; nicht nachweisbar; nn; n n; nicht nachgewiesen; nicht gefunden; non detecte; non décelé; non détectable; non detecte; neant; nd non detecte; non décelable; absence; niet aantoonbaar; niet gevonden; niet aangetoond; nt aantoonbaar; ej påvisad; ej påvisat; ej detekterad; ej detekterat; ikke påvist; ei påvist; ikke paavist; ip; i p; niewykryte; nie wykryto; niewykrywalne; nieobecne; nieobecny; no detectado; no detectable; no se detecta; no detectada; ausencia; non rilevato; non rilevabile; non rilevabili; assente; assenti; n r; nr non rilevabile; não detectado; ausente; ausentes; ausência; no presente; not observed; undetectable; zero detected; nda; absent; not det; not detect; nowhere detected; sin presencia; pas detecte; u ND; none seen; nicht feststellbar; nenachyteno; b n; no trace`},
	{clsBelow, `bdl; brl; bmdl; bld; blq; bloq; bql; below detection; below detection limit; below detection limits; below reporting limit; below limit of detection; below quantitation limit; below rl; below mdl; below lod; below loq; below lor; less than detection limit; less than reporting limit; less than detection; below detectable limit; below detectable limits; below detectable level; below method detection limit; u bg; u. bg; ubg; unter bg; unter bestimmungsgrenze; unter nachweisgrenze; unterhalb der bestimmungsgrenze; kleiner bg; inferieur a la lq; inferieur lq; onder detectiegrens; onder rapportagegrens; lager dan detectiegrens; under detektionsgräns; under rapporteringsgräns; under deteksjonsgrensen; under detektionsgrænsen; ponizej granicy oznaczalności; ponizej loq; por debajo del límite; inferiore al limite; inferiore a loq; inf lq; inf loq; not detected at the reporting limit; not detected at reporting limit; not detected at rl; not detected at mdl; below range; below pql; under range; below scale; undetected at the limit shown; nd at rl; nd at mdl; below lq; bajo el límite de detección; abaixo do limite; udl; less than rl; menor que lc; menor al límite; i d; d l; ldm`},
	{clsUntested, `not tested; not analyzed; not analysed; not measured; not determined; not reported; not requested; not run; not sampled; not done; not applicable; n a; na; nt; nm; n t; n m; nr; ns; n s; nicht bestimmt; nicht untersucht; nicht gemessen; nb; n b; k a; ka; keine angabe; nicht analysiert; entfällt; n u; nu; non mesure; non analyse; non determine; non effectué; nm non mesure; niet bepaald; niet gemeten; nvt; n v t; niet geanalyseerd; ej analyserad; ej analyserat; ej mätt; ej undersökt; ej utförd; ikke målt; ikke undersøgt; ikke analyseret; ikke analysert; nie badano; nie oznaczano; no analizado; no medido; no determinado; sin analizar; non determinato; non analizzato; não analisado; not available; insufficient sample; sample broken; bottle broken; tbd; no test; no result; no data; not recorded; cancelled; canceled; skipped; not ordered; see note; did not test; not included; untested; didn't test; not performed; not taken; non richiesto; n d a; no reading; not provided; off; out of strips; ran out of reagent; expired reagent; nothing; not checked`},
	{clsPending, `pending; in progress; results expected; expected by; results due; in queue; queued; incubating; to follow; awaiting; awaited; in bearbeitung; folgt; ausstehend; steht aus; en cours; a suivre; in behandeling; volgt; pågår; afventer; w toku; w trakcie; pendiente; en proceso; in corso; em andamento; awaiting analysis; not yet available; to be reported; result to follow; tbr; on hold; still running; not yet; not ready; in lab; being tested; rest to follow; under analysis; logged in; awaiting results; en espera; sent out; to come; not started; in prep; subcontracted`},
	{clsLess, `less than; below; under; lower than; fewer than; kleiner als; kleiner; unter; unterhalb; weniger als; inferieur a; inf a; moins de; inferieure a; inferieurs a; minder dan; kleiner dan; lager dan; onder; mindre an; mindre enn; mindre end; under; lagre an; lavere enn; lägre än; lavere end; ponizej; mniej niz; mniejsze niz; menor que; menor de; menos de; inferior a; por debajo de; menor a; minore di; inferiore a; meno di; menor do que; abaixo de; abaixo; lt; not detected at; not detected below; nd at; nd below; none detected at; none detected below; inf; no more than; up to; non detected at; not found above; at or below; not above; nothing above; nd less than`},
	{clsMore, `more than; greater than; above; over; at least; exceeds; exceeding; higher than; in excess of; groser als; grosser als; uber; mehr als; oberhalb; mindestens; superieur a; sup a; plus de; meer dan; groter dan; hoger dan; boven; mer an; mer enn; mere end; over; storre enn; storre end; hogre an; större än; powyzej; wiecej niz; wieksze niz; mayor que; mayor de; mas de; superior a; por encima de; maggiore di; superiore a; piu di; oltre; maior que; acima de; acima; gt; off scale above; north of; beyond; upwards of`},
	{clsAbout, `about; approximately; approx; around; roughly; circa; ca; near; nearly; almost; ungefähr; etwa; rund; environ; vers; ongeveer; cirka; omkring; ok; około; ok oło; aproximadamente; unos; cerca de; casi; environ; c; somewhere around; est; estimated at; say; maybe; probably; looks like; about like; close to; just under; just over; or so; reads; i think; looked like`},
	{clsTo, `to; bis; till; til; tot; do; hasta; thru; through; a; à`},
	{clsLimit, `limit; limits; goal; goals; mcl; mclg; smcl; al; action level; action; pcv; mac; ao; standard; standards; guideline; guidelines; guide; recommended; recommendation; target; ideal; ideally; desirable; desired; maximum; max; min; minimum; should be; should; ought to; allowed; permitted; permissible; acceptable; acceptance; threshold; ceiling; grenzwert; richtwert; höchstwert; parameterwert; limite; limites; reference; références; referentie; norm; norme; normwaarde; eis; gränsvärde; riktvärde; grænseværdi; grenseverdi; kravværdi; gränsvärden; dopuszczalna; dopuszczalne; nds; wartość dopuszczalna; valor paramétrico; límite; valor límite; max permitido; limite massimo; valore limite; valore di parametro; vmp; lmp; sec; secondary; primary; or less; or more; epa; federal; national; state limit; safe; ceiling of; against; criteria; criterion; trigger; maximum contaminant level; regulatory; healthy; optimal; optimum; suggested; range should; anything; advised; advisory; health advisory; who; eu; tvo; trinkwv; benchmark; considered; fine up to; common goal; common; usual; usually; typical; normal; normal range; typically; compare; compared with; rather than; as opposed to; guidance; is called; commonly; commonly called; upper limit; lower limit; vma; zulässig; erlaubt; max value; max allowed; aim; aim for; keep below; keep under; no more; staining above; problem above; concern above; action above; treat above; treat if; if above; exceed; needs to be; must be; keep; maintain; hold at; want it; you want; we like; we recommend; expect; expected; rule of thumb`},
	{clsWords, `trace; traces; present; slight; slightly; moderate; moderately; strong; weak; weak positive; positive; high; very high; low; very low; medium; pass; passed; fail; failed; passes; fails; satisfactory; unsatisfactory; spuren; spur; trace amount; schwach; stark; mittel; faible; fort; traces faibles; leger; légère; sporen; zwak; sterk; spår; svag; stark; spor; slabo; śladowe; ślady; slady; trazas; leve; fuerte; tracce; debole; forte; vestígios; soft; very hard; elevated; heavy; light; detected; suspected; some; a little; a lot; lots; acceptable; unacceptable; agreeable; unobjectionable; objectionable; faint; mild; clear; cloudy; normal; good; bad; ok; okay; fine; excellent; poor; yes; borderline; excessive; marginal; visible; noticeable; barely; deep; pale; dark; colourless; colorless; within range; out of range; in range; ideal; adequate; safe; unsafe; hart; weich; mittelhart; sehr hart; farblos; klar; limpide; sans; limpido; kirkas; incolore; inodore; claire; clair; incolor; inodora; helder; kleurloos; klart; klar; färglös; ingen; bez; akceptowalny; akceptabel; aceptable; accettabile; aceitable; normale; normaal; ohne; mässig; tydlig; musty; earthy; sulfurous; metallic; sweet; salty; bitter; straw; brown; yellow; very slight; very soft; moderately hard; tinted; fishy; geruchlos; none noticed; attention; alert; caution; info; o b; ob; ohne befund; typical`},
	{clsPresent, `present; positive; pos; detected; found; p; presence; positiv; nachgewiesen; vorhanden; présence; présents; aanwezig; positief; påvisad; påvist; obecne; dodatni; presente; presentes; positivo; presenti; unsatisfactory; unsafe; +; fail; failed; tntc; too numerous to count; confluent; present in 100 ml`},
	{clsAbsent, `absent; negative; neg; not detected; none detected; none found; a; absence; negativ; nicht nachweisbar; nicht nachgewiesen; abwesend; négatif; afwezig; negatief; niet aanwezig; ej påvisad; ikke påvist; nieobecne; ujemny; ausente; ausencia; negativo; assente; assenti; ausentes; satisfactory; safe; pass; passed; none; nil; nd; nn; no growth; not present; not found; no; clear; ok; n n; ej påvisade; non rilevato; nie wykryto; undetected; bdl; none seen; absent in 100 ml; no detectado; assenza; ausência`},
	{clsTotal, `total; tot; totaal; gesamt; totale; totales; totali; totalt; ogólny; ogólne; całkowity; total recoverable; recoverable; tr; unfiltered; t; insgesamt; totaux; unfiltriert; acid soluble; ges; og; not filtered; whole water; all forms; ongefiltreerd; ofiltrerad; non filtré; sin filtrar; total metals; metals total; (t); total extractable`},
	{clsDissolved, `dissolved; diss; filtered; soluble; gelöst; filtriert; dissous; dissoute; filtré; opgelost; gefiltreerd; löst; filtrerad; filtreret; filtrert; rozpuszczony; rozpuszczone; disuelto; disuelta; filtrado; disciolto; disciolti; filtrato; dissolvido; in solution; field filtered; lab filtered; d; clear water; opløst; oppløst; sol; dissolved metals; metals dissolved; 0 45; solved; membrane filtered; filtrate`},
	{clsAs, `as; als; en; som; jako; como; come; exprimé en; expressed as; ausgedruckt als; uttryckt som; calculated as; reported as; measured as; in terms of; express; uitgedrukt als; w przeliczeniu na; expresado como; espresso come`},
	{clsQC, `method blank; lab blank; laboratory blank; trip blank; field blank; equipment blank; reagent blank; calibration blank; laboratory control sample; lcs; lcsd; matrix spike; matrix spike duplicate; ms msd; spike recovery; spiked; surrogate; surrogates; surrogate recovery; quality control; qc; qc summary; quality control summary; qa qc; duplicate of; laboratory duplicate; lab duplicate; sample duplicate; check standard; continuing calibration; standard reference; blank spike; recovery; percent recovery; control chart; rpd; qc batch; quality assurance; control standard; blank result; ccv; icv; mb; certified reference; reference material; serial dilution; post digestion spike; blindwert; qualitätssicherung; kontrollprobe; contrôle qualité; blanc; kwaliteitscontrole; internal standard; proficiency; batch qc; blank; spike`},
	{clsPast, `last year; last time; previous; previously; prior; used to be; used to; years ago; year ago; months ago; formerly; historical; history; before that; back in; earlier; old result; letztes jahr; früher; vorherige; vorjahr; l an dernier; precedent; vorig jaar; förra året; sidste år; w zeszłym roku; el año pasado; l anno scorso; had been; was once; in the past; past result; former; last report; last test; the year before; ago; when we moved in; at the old; previous owner; first well; last spring; last fall; last summer; last winter; last month; last week`},
	{clsOther, `neighbor; neighbour; neighbors; neighbours; next door; other well; nearby well; city water; town water; their well; his well; her well; across the road; nachbar; voisin; buren; grannens; neighbor's; neighbour's; down the road; up the road; my brother; my sister; my cousin; average well; county average; regional average; area wells; most wells; wells in this area; nearby; friend; for comparison; brother in law; a friend; spring water brand; bottled water; typical well; municipal; city; sister's; cousin's; last house; old house; other house; previous house; last place; old place; old well; cottage next; last home; previous home; former house; in town`},
	{clsPrelim, `preliminary; prelim; provisional; unverified; unofficial; by phone; draft; vorläufig; provisoire; voorlopig; preliminär; foreløbig; wstępny; preliminar; preliminare; superseded; void; withdrawn; original report; as first reported; first reported; originally reported; earlier version; interim; replaced; retracted; cancels; obsolete; ersetzt; rough draft; not final; in error; erroneous; old values; superseded by; do not use; first issue; original issue; original values; original result; original`},
	{clsFinal, `final; final report; revised; revision; corrected; amended; reissued; amendment; correction; endgültig; definitif; definitief; slutlig; slutgiltig; endelig; ostateczny; definitivo; corrected report; corrected copy; corrected values; replaces; supersedes; re-issued; official; confirmed; korrigiert; berichtigt; corrigé; herzien; rättad; skorygowany; corregido; rettificato; errata; second issue; new values; revised report`},
	{clsCount, `years; year; yrs; yr; days; day; weeks; months; month; minutes; minute; min; mins; hours; hour; hrs; hr; h; sec; seconds; ft; feet; foot; m; meter; meters; metre; metres; cm; km; miles; mile; inch; inches; gpm; lpm; psi; bar; people; persons; baths; bathrooms; ml; mls; liter; liters; litre; litres; l; gal; gallon; gallons; lb; lbs; pounds; kg; g; oz; items; samples; sample; bottles; bottle; parameters; of; am; pm; uhr; samples; tests; sites; acres; acre; cows; head; horses; percent of; times; drops; drop; visits; kids; children; homes; households; hp; amps; volts; watts; kwh; um; micron; microns; nm; pages; page; o clock; dollars; bucks; euro; eur; usd; cups; teaspoons; tablespoons; tbsp; tsp; buckets; bags; bag; fish; gpd; cubic; jahre; tage; personen; personnes; ans; jours; personer; jahren; wells; pads; strips; blocks; steps; weeks; turns; inches; ha; stories; rooms; fixtures; months; wk; mo; psi; tons; quarters; elements; analytes; substances; units in; grains capacity; grain softener; grain unit; grain system; minute; gpm/ft`},
	{clsTreated, `after softener; after the softener; after softening; after conditioner; after the conditioner; after water conditioner; after treatment; after filter; after the filter; after filtration; after filters; after carbon; after cartridge; after ro; after r o; after reverse osmosis; after sediment cartridge; after sediment filter; after iron filter; after neutralizer; after uv; after sand filter; softened; treated; softened water; treated water; post treatment; post softener; post filter; post ro; post filtration; conditioned; finished water; filtered water; ro water; ro tap; ro faucet; nach enthärter; nach enthärtung; nach der enthärtung; nach filter; nach aufbereitung; enthärtet; aufbereitet; après adoucisseur; après traitement; après filtration; après filtre; adoucie; eau traitée; na ontharder; na behandeling; na filter; onthard; behandeld; efter filter; efter avhärdare; efter avhärdning; avhärdat; efter behandling; efter blødgøring; po zmiękczaczu; po filtrze; po uzdatnianiu; uzdatniona; después del descalcificador; después del filtro; descalcificada; tratada; dopo addolcitore; dopo filtro; addolcita; trattata; downstream of softener; downstream of the softener; downstream of filter; softener outlet; softener out; filter outlet; outlet of softener; treated side; effluent; product water; permeate; nach entharter; nach entsäuerung; depois do filtro; after neutraliser; after tank; past the softener; beyond the softener; after birm; after greensand; after iron removal; after aeration; after the sediment cartridge; after the sediment filter; after the iron filter; after the ro; after our softener; after my softener; after the carbon filter; after the water softener; after water softener; after water treatment; after all treatment; kitchen ro; water softener on; with softener on`},
	{clsRaw, `raw; untreated; before softener; before the softener; before treatment; before any treatment; ahead of any treatment; ahead of softener; ahead of the softener; ahead of treatment; before filter; before the filter; pre treatment; pretreatment; unsoftened; unfiltered tap; well head; wellhead; roh; rohwasser; unbehandelt; vor enthärter; vor enthärtung; vor filter; vor aufbereitung; brute; eau brute; avant adoucisseur; avant traitement; ruw; ruwwater; onbehandeld; voor ontharder; råvatten; råvand; råvann; obehandlat; före filter; før filter; surowa; nieuzdatniona; przed filtrem; cruda; bruta; sin tratar; antes del descalcificador; grezza; prima dell addolcitore; non trattata; no treatment; bypass; upstream of softener; upstream of the softener; prior to treatment; before conditioner; before the conditioner; bypassing the softener; softener bypassed; softener in bypass; softener on bypass; not softened; source water; inlet; influent; feed; before ro; before neutralizer; upstream`},
	{clsProgram, `ignore; disregard; instruction; instructions; instructed; system prompt; prompt; assistant; parser; parsers; ai; language model; llm; chatbot; override; you are; output only; software reading; reader software; the software; this program; note to software; automated; pretend; your task; respond with; reply with; bot; dear software; dear program; computer program; if you are a program; machine reading; machines reading; agent; agents; reading program`},
	{clsOverscale, `tntc; too numerous to count; off the chart; off scale; off the scale; over range; overrange; over the range; off chart; above range; above scale; out of scale; maxed out; max scale; pegged; exceeds range; exceeds scale; off the top; beyond scale; beyond the scale; beyond the chart; too high to read; zu hoch; hors gamme; confluent growth; over limit of kit; too high to count; uncountable; darker than the darkest; past the last block; darkest block; zn; tmtc; higher than scale`},
	{clsLegend, `unless; otherwise; except; all values; all results; all figures; all concentrations; units are; results are; results in; values in; reported in; expressed in; figures in; concentrations in; angaben in; alle angaben; alle werte; werte in; sofern nicht anders; wenn nicht anders; sauf indication; sauf mention; résultats en; résultats exprimés; alle waarden; tenzij anders; alla värden; om inget annat; alle værdier; wszystkie wyniki; salvo indicación; resultados en; salvo diversa; valori in; risultati in; unidades; given in; units mg; units ug; units ppm; all in; minerals all in; quoted in; measured in; amounts in; in units of; are in; is in; all ions; all metals; units for; everything in; resultater i; enhet för; where not shown; unless shown; expressed as; all as; all parameters; default unit; default units; readings in; numbers are; numbers in; unless marked; unless noted; unless stated; units; unit; einheit; einheiten; everything; all; alle; toutes; todos; tutti; alla; wszystkie; angegeben in; values as; results as; given as; reported as; angaben als; exprimés en; stated in; figures are`},
	{clsMonth, `jan; january; januar; janvier; januari; feb; february; februar; fevrier; februari; mar; march; marz; mars; maart; apr; april; avril; may; mai; mei; maj; jun; june; juni; juin; jul; july; juli; juillet; aug; august; aout; augustus; augusti; sep; sept; september; septembre; oct; october; oktober; octobre; okt; nov; november; novembre; dec; december; dezember; decembre; dez; des; desember; stycznia; lutego; marca; kwietnia; maja; czerwca; lipca; sierpnia; września; października; listopada; grudnia; enero; febrero; marzo; abril; mayo; junio; julio; agosto; septiembre; octubre; noviembre; diciembre; gennaio; febbraio; aprile; maggio; giugno; luglio; settembre; ottobre; dicembre; août; février; décembre`},
	{clsRejected, `rejected; reject; unusable; r; invalid; invalidated; discarded; not usable; verworfen; rejeté; afgekeurd; do not report`},
	{clsSkip, `calibration; calibrated; calibrate; buffer; buffers; cooler; coolers; preservative; preserved; preservation; unpreserved; unpres; hno3; h2so4; na2s2o3; custody seal; bottles; on receipt; upon receipt; cal; kalibriert; kalibrierung; étalonné; dose; dosage; feed rate; setpoint; set point; setting; compensated`},
	{clsCorrect, `sorry; misread; correction; oops; scratch that; make that; i mean; i meant; no wait; wait; typo; should have been; should read; rather; not; entschuldigung; korrektur`},
	{clsGuess, `if; suppose; for example; example; e g; imagine; would be; could be; might be; in case; falls; wenn; assume; assuming; pretend; hypothetically; whenever; unless it; when it is; for every; for each; count; to raise; to lower; to increase; to reduce; to bring; to adjust; raises; lowers`},
}
