package labreport

// methodWords name bodies and series of analytical methods. What follows them
// is the number of a method, never a value.
var methodWords = map[string]bool{
	"epa": true, "usepa": true, "sm": true, "astm": true, "iso": true, "din": true, "en": true, "apha": true, "usgs": true, "nen": true, "sfs": true,
	"une": true, "uni": true, "irsa": true, "apat": true, "dev": true, "pn": true, "nf": true, "bs": true, "aoac": true, "icp": true, "smww": true, "smewww": true, "smewwe": true, "unichim": true, "wac": true,
	"moe": true, "svensk": true, "intern": true, "hausmethode": true, "is": true, "ss": true, "ns": true, "ds": true, "std": true, "method": true, "methode": true, "methods": true, "métode": true, "cas": true,
	"tr": true, "nmx": true, "nom": true, "sop": true, "eaa": true, "nbr": true, "wi": true, "qc": true, "rapport": true, "n°": true, "aan": true, "part": true, "pt": true, "teil": true,
}

// methodWord tells whether a word opens a method number. Short ones that are
// also words count in capitals only.
func methodWord(word, fold string) bool {
	if !methodWords[fold] {
		return false
	}
	switch fold {
	case "is", "en", "ss", "ns", "ds", "un", "nf", "bs", "pn", "sm", "dev", "tr", "nom", "uni", "moe", "std", "wi", "intern", "wac", "qc", "icp", "aan", "sop", "cas", "din", "iso", "epa":
		return word[0] == fold[0]-'a'+'A' && (len(word) == 1 || isUpper(word[1])) && fold != "std" && fold != "intern"
	case "method", "methods", "methode", "part", "pt", "teil", "rapport", "n°", "svensk":
		return false
	}
	return true
}

// methodCode tells whether a single word is the number of a method with its
// series glued on: "E200.7", "A2320B", "SM2320B", "EPA200".
func methodCode(w string) bool {
	i := 0
	for i < len(w) && isUpper(w[i]) {
		i++
	}
	if i == 0 || i == len(w) || !isDigit(w[i]) {
		return false
	}
	j := i
	for j < len(w) && isDigit(w[j]) {
		j++
	}
	if j-i < 3 || j-i > 4 {
		return false
	}
	switch w[:i] {
	case "E", "A", "SM", "EPA", "D", "ASTM", "I", "P", "ISO", "EN", "APHA", "M", "MI", "HM", "SW":
		return true
	}
	return false
}
