package analyte

import (
	"strings"
	"sync"
)

// Naming is what a name in a report says: the analyte, and what else the name
// itself settles ("nitrate nitrogen" states the basis N, "ferrous iron" is
// dissolved).
type Naming struct {
	ID        ID    // empty for words that hold an analyte's name but mean something else ("lead time")
	Basis     Basis // stated by the name; empty if not
	Dissolved bool  // the name says dissolved
	Total     bool  // the name says total
}

// spelt is one row of the table of spellings.
type spelt struct {
	naming Naming
	words  string // spellings, separated by semicolons
}

// vocabulary maps folded spellings to what they name, and the first word of
// each to the largest number of words of a spelling that begins with it. It is
// made on first use, because most commands read no report.
var vocabulary = sync.OnceValue(buildVocabulary)

type lexicon struct {
	phrases map[string]Naming
	starts  map[string]int
}

func buildVocabulary() lexicon {
	ps, ss := make(map[string]Naming), make(map[string]int)
	for _, row := range names {
		for _, s := range strings.Split(row.words, ";") {
			for _, v := range Variants(s) {
				if v == "" {
					continue
				}
				if _, taken := ps[v]; !taken {
					ps[v] = row.naming
				}
				first, _, _ := strings.Cut(v, " ")
				ss[first] = max(ss[first], strings.Count(v, " ")+1)
			}
		}
	}
	return lexicon{ps, ss}
}

// Phrase returns what a sequence of folded words names, for readers that cut
// the words themselves.
func Phrase(folded string) (Naming, bool) {
	n, ok := vocabulary().phrases[folded]
	return n, ok
}

// PhraseLength returns the largest number of words of a spelling that begins
// with this folded word; 0 if none does.
func PhraseLength(first string) int { return vocabulary().starts[first] }

// Symbol returns what a chemical symbol or formula names when it stands alone
// as a name ("Ca", "NO3-N" without its hyphen: "NO3N"). Letter case counts.
func Symbol(s string) (Naming, bool) {
	n, ok := symbols[s]
	return n, ok
}

// ByName returns what a whole name says, such as a CharacteristicName of the
// Water Quality Exchange or the id of an analyte. Punctuation and letter case
// do not count.
func ByName(name string) (Naming, bool) {
	if n, ok := vocabulary().phrases[strings.Join(foldWords(name), " ")]; ok {
		return n, n.ID != ""
	}
	if n, ok := symbols[strings.TrimSpace(name)]; ok {
		return n, true
	}
	if _, ok := byID[ID(name)]; ok {
		return Naming{ID: ID(name)}, true
	}
	return Naming{}, false
}

// foldWords cuts a name into folded words at everything that is no letter or
// digit.
func foldWords(s string) []string {
	return strings.FieldsFunc(Fold(s), func(r rune) bool {
		return !('a' <= r && r <= 'z' || '0' <= r && r <= '9')
	})
}

// Variants returns the folded forms under which a spelling may arrive: with
// the accents dropped, with their letters spelt out (ae, oe, ue), and with the
// accented letters lost, as a wrong encoding leaves them.
func Variants(s string) []string {
	plain := strings.Join(foldWords(s), " ")
	out := []string{plain}
	add := func(f func(rune) string) {
		var b strings.Builder
		for _, r := range s {
			if r < 0x80 {
				b.WriteRune(r)
			} else {
				b.WriteString(f(r))
			}
		}
		if v := strings.Join(foldWords(b.String()), " "); v != plain && len(v) >= 5 {
			out = append(out, v)
		}
	}
	add(func(r rune) string {
		if d, ok := digraph[r]; ok {
			return d
		}
		return string(r)
	})
	add(func(rune) string { return "" })
	return out
}

var digraph = map[rune]string{'ä': "ae", 'ö': "oe", 'ü': "ue", 'å': "aa", 'ø': "oe", 'Ä': "Ae", 'Ö': "Oe", 'Ü': "Ue"}

// Fold makes letters comparable: lower case, accents dropped, raised and
// lowered digits plain, letters lost to a wrong encoding (U+FFFD) left out.
func Fold(s string) string {
	plain := true
	for i := 0; i < len(s); i++ {
		if c := s[i]; c >= 0x80 || 'A' <= c && c <= 'Z' {
			plain = false
			break
		}
	}
	if plain {
		return s
	}
	b := make([]byte, 0, len(s)+4)
	for _, r := range s {
		switch {
		case 'A' <= r && r <= 'Z':
			b = append(b, byte(r)+'a'-'A')
		case r < 0x80:
			b = append(b, byte(r))
		case '\u2080' <= r && r <= '\u2089':
			b = append(b, byte('0'+r-'\u2080'))
		case r == '\uFFFD':
		default:
			b = append(b, latin(r)...)
		}
	}
	return string(b)
}

// latin drops the accent of a letter. Other runes stay as they are.
func latin(r rune) string {
	switch r {
	case 'à', 'á', 'â', 'ã', 'ä', 'å', 'ą', 'ă', 'À', 'Á', 'Â', 'Ã', 'Ä', 'Å', 'Ą':
		return "a"
	case 'ç', 'ć', 'č', 'Ç', 'Ć', 'Č':
		return "c"
	case 'è', 'é', 'ê', 'ë', 'ę', 'ě', 'È', 'É', 'Ê', 'Ë', 'Ę':
		return "e"
	case 'ì', 'í', 'î', 'ï', 'Ì', 'Í', 'Î', 'Ï':
		return "i"
	case 'ł', 'Ł':
		return "l"
	case 'ñ', 'ń', 'ň', 'Ñ', 'Ń':
		return "n"
	case 'ò', 'ó', 'ô', 'õ', 'ö', 'ø', 'ő', 'Ò', 'Ó', 'Ô', 'Õ', 'Ö', 'Ø':
		return "o"
	case 'ř':
		return "r"
	case 'ś', 'š', 'Ś', 'Š':
		return "s"
	case 'ß':
		return "ss"
	case 'ù', 'ú', 'û', 'ü', 'ů', 'ű', 'Ù', 'Ú', 'Û', 'Ü':
		return "u"
	case 'ý', 'ÿ':
		return "y"
	case 'ź', 'ż', 'ž', 'Ź', 'Ż', 'Ž':
		return "z"
	case 'æ', 'Æ':
		return "ae"
	case 'œ', 'Œ':
		return "oe"
	}
	return string(r)
}
