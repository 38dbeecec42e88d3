package main

import (
	"fmt"
	"io"
	"strings"
)

// startPage is what govrig says when it is told nothing.
const startPage = `govrig plays an engine to a speed governor on the bench; nothing moves but a servo.

Begin here:
  govrig new example.yaml                  a machine file with remarks, of an invented machine
  govrig loadstep example.yaml --virtual   a whole test with a simulated governor, no hardware
  govrig ports                             with the board plugged in: is it found?

govrig help lists all commands; any of them with --help tells what it does.
`

const (
	guideQuestion = `
What do you want to do?
  1  see a test with a simulated governor; no hardware is needed
  2  look for the board
  3  make a machine file for my helicopter
  4  go through all bench tests with a machine file
  Enter alone closes this window.
`
	exampleFile = "example.yaml"
)

// guide asks a person who has opened govrig by a double click what to do, and
// does it, until there is nothing more to do. It says each command that it
// gives, for the day when the person types it.
func guide(io streams, exists func(string) bool, command func(args []string) int) {
	fmt.Fprint(io.out, "govrig plays an engine to a speed governor on the bench; nothing moves but a servo.\n")
	for {
		answer, ok := prompt(io, guideQuestion+"> ")
		if !ok || answer == "" {
			return
		}
		for _, args := range chosen(answer, exists, func(question string) string {
			text, _ := prompt(io, question)
			return text
		}) {
			fmt.Fprintf(io.out, "\n> govrig %s\n", strings.Join(quoted(args), " "))
			if command(args) == exitUsage {
				break
			}
		}
	}
}

// chosen gives the commands for an answer, asking on where more must be known.
// An answer that is none gives none.
func chosen(answer string, exists func(string) bool, ask func(string) string) (commands [][]string) {
	switch answer {
	case "1":
		if !exists(exampleFile) {
			commands = append(commands, []string{"new", exampleFile})
		}
		return append(commands, []string{"loadstep", exampleFile, "--virtual"})
	case "2":
		return [][]string{{"ports"}}
	case "3":
		name := ask("What shall the file be called? (Enter is " + newFile + ") ")
		if name == "" {
			name = newFile
		}
		return [][]string{{"new", name}}
	case "4":
		file := ask("Which machine file? Type its name, or pull it into this window. ")
		if file == "" {
			return nil
		}
		args := []string{"commission", file}
		if !strings.HasPrefix(strings.ToLower(ask("Is the board plugged in, to test a real governor? yes or no: ")), "y") {
			args = append(args, "--virtual")
		}
		return [][]string{args}
	}
	return nil
}

// prompt asks one question; ok is false at the end of the input. A file that is
// pulled into the window comes in quotes.
func prompt(io streams, question string) (answer string, ok bool) {
	fmt.Fprint(io.out, question)
	answer, ok = readLine(io.in)
	return strings.Trim(strings.TrimSpace(answer), `"'`), ok
}

// readLine reads a line and not a byte more: what follows is for the commands.
func readLine(r io.Reader) (text string, ok bool) {
	var line []byte
	for b := make([]byte, 1); ; {
		n, err := r.Read(b)
		switch {
		case n == 1 && b[0] == '\n':
			return string(line), true
		case n == 1:
			line = append(line, b[0])
		case err != nil:
			return string(line), len(line) > 0
		}
	}
}

// quoted puts quotes around what a shell would take apart.
func quoted(args []string) (out []string) {
	for _, a := range args {
		if strings.ContainsAny(a, " \t") {
			a = `"` + a + `"`
		}
		out = append(out, a)
	}
	return out
}
