// Command knownwater judges water-test methods against known water.
// This file only wires; each command is one file beside it.
package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/alecthomas/kong"

	"knownwater"
)

// Exit statuses: done, input understood and refused, wrong usage.
const (
	exitDone    = 0
	exitRefused = 1
	exitUsage   = 2
)

// env is what a command may touch: its streams, and a context that ends when
// the person interrupts.
type env struct {
	ctx         context.Context
	in          io.Reader
	stdinRead   bool
	out, errOut io.Writer // words and JSON: nothing in them can steer a terminal
	raw         io.Writer // a file that is written to standard output
	width       int       // of the terminal; 0: there is none
	style       style     // of words on it
	progress    *progress
	parser      *kong.Kong
}

// commands is the command line: one field a command, one file a command.
type commands struct {
	Demo       demoCmd       `cmd:"" help:"Make the demo trial, assess it, and write its report."`
	Assess     assessCmd     `cmd:"" help:"Judge methods from a file of readings of known water."`
	Forecast   forecastCmd   `cmd:"" help:"Say before a trial what it could decide: simulate it a hundred times."`
	Read       readCmd       `cmd:"" help:"Say what readings of one sample tell, by a trial's report or by a curve."`
	History    historyCmd    `cmd:"" help:"Judge a log of routine readings: what each said, and whether its method still held."`
	Experiment experimentCmd `cmd:"" help:"Say what something done to some waters did, beside others; plan such an experiment."`
	Choose     chooseCmd     `cmd:"" help:"Say which method to use for which need, at what cost, by the reports of trials."`
	Pack       packCmd       `cmd:"" help:"Publish a report as a pack that others can check, read by, repeat and compare."`
	Agree      agreeCmd      `cmd:"" help:"Say whether two benches agree that tried the same methods."`
	Recheck    recheckCmd    `cmd:"" help:"Compute a report again from what it carries, and say whether every number stands."`
	Sign       signCmd       `cmd:"" help:"Sign a report with the key of a bench, so that others know it again."`
	Key        keyCmd        `cmd:"" help:"Tell the fingerprint that a bench signs with, and copy its key."`
	Known      knownCmd      `cmd:"" help:"Make water of known concentration: plan dilutions, value what was prepared, print the sheet."`
	Curve      curveCmd      `cmd:"" help:"Give an instrument a curve of its own: fit it to known water, read samples through it."`
	Serve      serveCmd      `cmd:"" help:"Open the bench in the browser: plan a trial, run it from a phone, read the findings."`
	Backup     backupCmd     `cmd:"" help:"Copy a bench and check the copy."`
	Restore    restoreCmd    `cmd:"" help:"Check a copy and put it in a bench's place."`
	Export     exportCmd     `cmd:"" help:"Write everything on a bench as plain files in a zip."`
	Import     importCmd     `cmd:"" help:"Fill a new bench from an export."`

	Samples    samplesCmd    `cmd:"" help:"Write invented files to try the other commands on."`
	Words      wordsCmd      `cmd:"" help:"Print every sentence to translate, or check a file of translations."`
	Help       helpCmd       `cmd:"" help:"Print the manual: a topic, a term, a column of a file, a command."`
	VersionOf  versionCmd    `cmd:"" name:"version" help:"Print the version, what it was built from, and which benches it opens."`
	Completion completionCmd `cmd:"" help:"Print what lets a shell complete commands, flags and files: bash, zsh or fish."`
	Complete   completeCmd   `cmd:"" hidden:""`

	Progress bool             `help:"Say on standard error what goes on, though that is no terminal."`
	Version  kong.VersionFlag `help:"Print the version and end."`
}

func main() {
	ctx, stopped := untilStopped(os.Stderr)
	code := run(ctx, os.Args[1:], os.Stdin, os.Stdout, os.Stderr)
	select {
	case code = <-stopped:
	default:
	}
	os.Exit(code)
}

// run is the whole program: arguments and streams in, exit status out.
func run(ctx context.Context, args []string, in io.Reader, out, errOut io.Writer) int {
	var cmds commands
	ended := -1
	parser, err := kong.New(&cmds,
		kong.Name("knownwater"),
		kong.Description("How wrong is each water test, what can it tell apart, and what does today's reading really say?"),
		kong.Writers(out, errOut),
		kong.Vars{"version": "knownwater " + version},
		kong.NamedMapper("file", kong.MapperFunc(fileMapper)),
		kong.NamedMapper("bench", kong.MapperFunc(benchMapper)),
		kong.Exit(func(code int) { ended = code }),
	)
	if err != nil {
		fmt.Fprintln(errOut, "knownwater:", err)
		return exitUsage
	}
	nameValues(parser.Model.Node)
	if len(args) == 0 {
		args = []string{"--help"}
	}
	parsed, err := parser.Parse(negatives(args))
	if ended >= 0 { // --help and --version have printed and are done
		return ended
	}
	if err != nil {
		fmt.Fprintf(errOut, "knownwater: %s\nSee knownwater --help.\n", knownwater.Plain(err.Error()))
		return exitUsage
	}
	colour := style{colourOn(errOut, os.Getenv)}
	p := startProgress(errOut, widthOf(errOut) > 0, cmds.Progress)
	e := &env{ctx: ctx, in: in, out: out, raw: clearing{out, p}, errOut: errOut, width: widthOf(out), style: style{colourOn(out, os.Getenv)}, progress: p, parser: parser}
	if e.width > 0 && !forPrograms(parsed) {
		folded := &folding{to: out, width: e.width}
		defer folded.flush()
		e.out = folded
	}
	e.out = &plain{to: clearing{e.out, p}}
	err = parsed.Run(e)
	p.end()
	return status(err, parsed.Command(), errOut, colour)
}

// bareCommand is a command without the names of its arguments: "curve fit <points>".
func bareCommand(command string) string {
	before, _, _ := strings.Cut(command, " <")
	return before
}

// forPrograms says whether JSON was asked for, whose lines stay as they are.
func forPrograms(parsed *kong.Context) bool {
	for _, f := range parsed.Flags() {
		if on, ok := parsed.FlagValue(f).(bool); ok && on && f.Name == "json" {
			return true
		}
	}
	return false
}

// negatives ties a number below 0 to the flag before it, which would else be
// taken for a flag itself: --signal -0.012.
func negatives(args []string) (out []string) {
	for _, a := range args {
		last := len(out) - 1
		first, _, _ := strings.Cut(a, "..") // of an interval
		_, err := strconv.ParseFloat(first, 64)
		if err == nil && strings.HasPrefix(a, "-") && last >= 0 && strings.HasPrefix(out[last], "--") && !strings.Contains(out[last], "=") {
			out[last] += "=" + a
			continue
		}
		out = append(out, a)
	}
	return out
}

// status is the one place where an error becomes words and an exit status.
func status(err error, command string, errOut io.Writer, colour style) int {
	var faults knownwater.Faults
	var fault knownwater.Fault
	switch {
	case err == nil:
		return exitDone
	case errors.As(err, &faults):
		fmt.Fprintln(errOut, colour.faults(faults))
	case errors.As(err, &fault):
		fmt.Fprintln(errOut, colour.faults(knownwater.Faults{fault}))
	case errors.Is(err, context.Canceled):
		fmt.Fprintln(errOut, "knownwater: stopped before the end; nothing was written")
	default:
		fmt.Fprintln(errOut, "knownwater:", knownwater.Plain(err.Error()))
	}
	if more := pointer(err, bareCommand(command)); more != "" {
		fmt.Fprintf(errOut, "More: %s\n", more)
	}
	return exitRefused
}
