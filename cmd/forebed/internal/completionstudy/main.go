package main

import (
	"bufio"
	"flag"
	"fmt"
	"io"
	"os"

	"forebed/chem/water"
)

func main() {
	log := bufio.NewWriter(os.Stdout)
	defer log.Flush()
	if err := run(os.Args[1:], log); err != nil {
		log.Flush()
		fmt.Fprintln(os.Stderr, "completionstudy:", err)
		os.Exit(1)
	}
}

func run(args []string, out io.Writer) error {
	flags := flag.NewFlagSet("completionstudy", flag.ContinueOnError)
	seed := flags.Uint64("seed", 1, "seed of the draws")
	draws := flags.Int("draws", 2000, "draws of each completion")
	only := flags.String("only", "", "study only the reports whose name holds this")
	part := flags.Int("part", 0, "1 or 2 takes every other site, to fit on one half and study the other; 0 takes all")
	dump := flags.Bool("sites", false, "print the chosen sites as CSV instead")
	refit := flags.Bool("fit", false, "print the priors of the completion instead")
	if err := flags.Parse(args); err != nil {
		return err
	}
	if flags.NArg() != 1 {
		return fmt.Errorf("found %d arguments, expected the folder of the tables of wells", flags.NArg())
	}
	all, found, err := wells(flags.Arg(0))
	if err != nil {
		return err
	}
	sites := half(onePerSite(all), *part)
	switch {
	case *dump:
		printSites(out, sites)
		return nil
	case *refit:
		return fit(out, all, sites)
	}
	fmt.Fprintf(out, "%d samples of %d tables; %d sites with a whole analysis\n", len(all), len(found), len(sites))
	return study(out, sites, *only, water.Options{Seed: *seed, Draws: *draws})
}

// half keeps every other site: the odd ones for part 1, the even for part 2.
func half(sites []well, part int) []well {
	if part != 1 && part != 2 {
		return sites
	}
	var out []well
	for i := part - 1; i < len(sites); i += 2 {
		out = append(out, sites[i])
	}
	return out
}

// printSites writes one line a site.
func printSites(out io.Writer, sites []well) {
	fmt.Fprintln(out, "region,site,date,ph,temp,ec,tds,hardness,alk,ca,mg,na,k,nh4,fe,mn,cl,so4,no3,f,sio2")
	for _, w := range sites {
		fmt.Fprintf(out, "%s,%s,%s", w.region, w.site, w.date)
		for _, q := range []string{ph, temp, ec, tds, hardness, alkalinity, ca, mg, na, k, nh4, fe, mn, cl, so4, no3, fl, sio2} {
			if w.has(q) {
				fmt.Fprintf(out, ",%g", w.v[q])
			} else {
				fmt.Fprint(out, ",")
			}
		}
		fmt.Fprintln(out)
	}
}
