package main

import (
	"cmp"
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"
)

// completions asks the command itself what may follow, so that the scripts
// never fall behind it. The fish script is made by the library from the
// commands and flags.
var completions = map[string]string{
	"bash": `# bash completion of forebed: put it into ~/.local/share/bash-completion/completions/forebed
_forebed() {
  local cur="${COMP_WORDS[COMP_CWORD]}" asked=("${COMP_WORDS[@]:0:COMP_CWORD}") IFS=$'\n'
  [[ "$cur" == -* ]] && asked+=("$cur")
  COMPREPLY=($(compgen -W "$("${asked[@]}" --generate-bash-completion 2>/dev/null)" -- "$cur"))
}
complete -o default -F _forebed forebed
`,
	"zsh": `#compdef forebed
# zsh completion of forebed: put it into a folder of $fpath as _forebed
_forebed() {
  local -a asked found
  asked=("${(@)words[1,CURRENT-1]}")
  [[ "${words[CURRENT]}" == -* ]] && asked+=("${words[CURRENT]}")
  found=("${(@f)$(env 0=zsh "${asked[@]}" --generate-bash-completion 2>/dev/null)}")
  if [[ -n "${found[1]}" ]]; then
    _describe forebed found
  else
    _files
  fi
}
compdef _forebed forebed
`,
}

func completionCommand() *cli.Command {
	return &cli.Command{
		Name:      "completion",
		Usage:     "print the completion script of a shell: bash, zsh or fish",
		ArgsUsage: "SHELL",
		Description: "For the running shell, until it ends:\n" +
			"  bash   source <(forebed completion bash)\n" +
			"  zsh    source <(forebed completion zsh)\n" +
			"  fish   forebed completion fish | source",
		Action: func(c *cli.Context) error {
			shell := c.Args().First()
			script, ok := completions[shell]
			switch {
			case c.NArg() == 1 && ok:
			case c.NArg() == 1 && shell == "fish":
				var err error
				if script, err = c.App.ToFishCompletion(); err != nil {
					return err
				}
			default:
				return usagef("found %s, expected the name of a shell", cmp.Or(strings.Join(c.Args().Slice(), " "), "nothing"))("give one of: bash, zsh, fish")
			}
			_, err := io.WriteString(c.App.Writer, script)
			return err
		},
	}
}

func manCommand() *cli.Command {
	return &cli.Command{
		Name:        "man",
		Usage:       "print the manual page, made from the commands and their flags",
		Description: "To read it: forebed man > forebed.1 && man ./forebed.1",
		Action: func(c *cli.Context) error {
			if c.Args().Present() {
				return usagef("found %q, expected no argument", c.Args().First())("forebed man > forebed.1")
			}
			_, err := io.WriteString(c.App.Writer, manual(c.App))
			return err
		},
	}
}

// manual is the manual page in the language of man(7).
func manual(app *cli.App) string {
	var b strings.Builder
	fmt.Fprintf(&b, ".TH FOREBED 1\n.SH NAME\nforebed \\- %s\n.SH SYNOPSIS\n", roff(app.Usage))
	commands := app.VisibleCommands()
	for _, c := range commands {
		fmt.Fprintf(&b, ".B forebed %s\n%s\n.br\n", roff(c.Name), strings.TrimSpace("[options] "+roff(c.ArgsUsage)))
	}
	fmt.Fprintf(&b, ".SH DESCRIPTION\n%s\n.SH COMMANDS\n", paragraphs(app.Description))
	for _, c := range commands {
		section(&b, "forebed", c)
	}
	b.WriteString(".SH EXIT STATUS\n")
	for _, e := range exits {
		fmt.Fprintf(&b, ".TP\n.B %d\n%s\n", e.code, roff(e.means))
	}
	return b.String()
}

// section describes a command and the commands below it.
func section(b *strings.Builder, parent string, c *cli.Command) {
	name := parent + " " + c.Name
	fmt.Fprintf(b, ".SS %s\n%s.\n", roff(strings.TrimSpace(name+" "+c.ArgsUsage)), roff(capital(c.Usage)))
	if c.Description != "" {
		fmt.Fprintf(b, ".PP\n%s\n", paragraphs(c.Description))
	}
	for _, f := range c.VisibleFlags() {
		d, ok := f.(cli.DocGenerationFlag)
		if !ok {
			continue
		}
		var names []string
		for _, n := range f.Names() {
			names = append(names, strings.Repeat("-", min(len(n), 2))+n)
		}
		usage := strings.ReplaceAll(d.GetUsage(), "`", "")
		if d.TakesValue() && d.GetDefaultText() != "" {
			usage += " (default: " + d.GetDefaultText() + ")"
		}
		fmt.Fprintf(b, ".TP\n.B %s\n%s\n", roff(strings.Join(names, ", ")), roff(usage))
	}
	for _, sub := range c.Subcommands {
		section(b, name, sub)
	}
}

// roff guards text from the typesetter: a backslash, a dash that is typed, and
// a line that begins like an instruction.
func roff(s string) string {
	s = strings.NewReplacer(`\`, `\e`, "-", `\-`).Replace(s)
	if strings.HasPrefix(s, ".") || strings.HasPrefix(s, "'") {
		s = `\&` + s
	}
	return s
}

// paragraphs sets a description: its lines run together, a blank line parts
// paragraphs, and an indented line stands alone.
func paragraphs(text string) string {
	var out []string
	for line := range strings.SplitSeq(text, "\n") {
		switch {
		case strings.TrimSpace(line) == "":
			out = append(out, ".PP")
		case strings.HasPrefix(line, "  "):
			out = append(out, ".br", roff(strings.TrimSpace(line)), ".br")
		default:
			out = append(out, roff(line))
		}
	}
	return strings.Join(out, "\n")
}

func capital(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:]
}
