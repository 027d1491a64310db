package main

import (
	"flag"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"example.com/earnest/examples/report"
	"example.com/earnest/target/review"
)

// watchPort is the port of the assistant's page.
const watchPort = 8438

// options are those of the command line.
type options struct {
	session string // path of the session file
	demo    bool   // the session is the demonstration's, and its report may be replaced
	to      string // folder of the report

	replace, listen, embed, pictures, timings bool
	language                                  string

	watch string // folder to watch; the other options then do not matter
	port  int
}

// write writes the files that the options ask for.
func (o *options) write(results *review.Results, say func(step string)) error {
	say("writing the report")
	write := report.Write
	if o.embed {
		write = report.WriteEmbedded
		say("the page holds excerpts of " + heard(results) + ": publish it only if you may publish that material")
	}
	if err := write(o.to, results, o.replace); err != nil {
		return err
	}
	if o.language != "" {
		if err := report.WriteTranslation(o.to, results, o.language, o.replace); err != nil {
			return err
		}
	}
	if o.pictures {
		say("drawing the pictures")
		if err := report.WritePictures(o.to, results, o.replace); err != nil {
			return err
		}
	}
	if o.listen {
		return report.WriteListening(o.to, results, o.replace)
	}
	return nil
}

// parse reads the command line.
func parse(args []string) (*options, error) {
	o, flags := &options{}, flag.NewFlagSet("review", flag.ContinueOnError)
	languages := strings.Join(report.Languages(), ", ")
	flags.StringVar(&o.to, "to", "", "folder for the report; beside the session file if not given")
	flags.BoolVar(&o.replace, "replace", false, "replace an existing report")
	flags.BoolVar(&o.listen, "listen", false, "write "+report.ListeningFile+
		" too, on which readers compare excerpts of music and speech without knowing which is which")
	flags.BoolVar(&o.embed, "embed", false,
		"keep the excerpts of music and speech in the page, 20 MB at most; check that you may publish them")
	flags.BoolVar(&o.pictures, "pictures", false, "write each plot as SVG and PNG too, in the folder "+
		report.PicturesFolder+": for video, light and dark, and for print")
	flags.StringVar(&o.language, "language", "",
		"also write the page in another language, as report-de.html; languages: "+languages)
	flags.BoolVar(&o.timings, "timings", false,
		"print at the end the time of each step, by the clock and of all processors")
	flags.StringVar(&o.watch, "watch", "",
		"`folder` in which recordings are made: judge each as it is made, on a page of this computer, until Ctrl-C")
	flags.IntVar(&o.port, "port", watchPort, "port of that page; 0 means any free one")
	flags.Usage = func() {
		fmt.Fprint(flags.Output(), "usage: review [-to folder] [-replace] [-listen] [-embed] [-pictures] [-language code] "+
			"[-timings] [session.toml]\n       review -watch folder [-port n]\n"+
			"Without a session file an invented pair is measured, in "+demoFolder+".\n")
		flags.PrintDefaults()
	}
	if err := flags.Parse(args); err != nil {
		return nil, err
	}
	if o.language != "" && !slices.Contains(report.Languages(), o.language) {
		return nil, fmt.Errorf("-language %q is not known; choose one of %s", o.language, languages)
	}
	if o.watch != "" && flags.NArg() > 0 {
		return nil, fmt.Errorf("unexpected argument %q: -watch takes only a folder", flags.Arg(0))
	}
	if o.session = flags.Arg(0); o.session == "" {
		o.session, o.demo, o.replace = filepath.Join(demoFolder, "session.toml"), true, true
	}
	if o.to == "" {
		o.to = folderOf(o.session)
	}
	return o, nil
}

// folderOf returns the folder of a session, which may be named by its folder.
func folderOf(session string) string {
	if about, err := os.Stat(session); err == nil && about.IsDir() {
		return session
	}
	return filepath.Dir(session)
}

// heard returns the names of the pieces with excerpts.
func heard(m *review.Results) string {
	var names []string
	for _, p := range m.Programmes {
		if p.Excerpts != nil && len(p.Excerpts.Versions) > 0 {
			names = append(names, p.Name)
		}
	}
	if names == nil {
		return "nothing"
	}
	return strings.Join(names, ", ")
}
