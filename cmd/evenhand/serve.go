package main

import (
	"bufio"
	"context"
	"errors"
	"fmt"
	"io"
	"net"
	"net/netip"
	"os"
	"strconv"
	"strings"

	"github.com/spf13/cobra"
	"golang.org/x/term"

	"evenhand/journal"
	"evenhand/report"
	"evenhand/report/serve"
)

type serveOptions struct {
	journalOptions
	port       int
	listen     string
	names      []string
	passphrase string // a file
	keep       string
	scores     []string
	engraver   string
}

const serveHelp = `Shows the journal in a browser on this machine: the pupils, their weeks and
takes, the week of all pupils for the teacher, with forms for the teacher's
words and marks. The music desk follows what "evenhand listen" hears, bar by
bar, for a tablet at the piano.

Only this machine is served, at 127.0.0.1. Every user of it can open the pages,
unless there is a passphrase. With --listen other machines are served too, and
there must be one of eight characters or more: from EVENHAND_PASSPHRASE, a file,
or typed in. Wrong tries have to wait longer and longer. What is sent is not
encrypted: use a network that you trust.

Exit status: 0 when it was ended by Ctrl-C; 1 when it could not serve; 2 when
the command line is wrong.`

// usualPort is where pages are served where nothing is said: 52 white keys of 88.
const usualPort = 5288

func newServe() *cobra.Command {
	var o serveOptions
	c := &cobra.Command{
		Use:     "serve",
		Short:   "show the journal in a browser, and follow the playing",
		Long:    serveHelp,
		Example: "  evenhand serve\n  evenhand serve --port 0",
		Args:    noArguments,
		RunE: withJournal(&o.journalOptions, func(ctx context.Context, c *cobra.Command, j *journal.Journal, _ []string) error {
			return runServe(ctx, c.InOrStdin(), c.OutOrStdout(), c.ErrOrStderr(), j, &o)
		}),
	}
	addJournal(c, &o.journalOptions)
	c.Flags().IntVar(&o.port, "port", usualPort, "`port` to serve at; 0: any")
	c.Flags().StringVar(&o.listen, "listen", "", "`address` to serve other machines at: one of this\nmachine's, as 192.168.1.20, or 0.0.0.0 for all")
	c.Flags().StringArrayVar(&o.names, "name", nil, "`name` by which other machines know this one\n(default the host name)")
	c.Flags().StringVar(&o.passphrase, "phrase", "", "`file` whose first line is the passphrase")
	c.Flags().StringVar(&o.keep, "keep", "", "`folder` in which takes are kept while they are\nplayed (default $XDG_DATA_HOME/evenhand/takes)")
	addScores(c, &o.scores)
	c.Flags().StringVar(&o.engraver, "engraver", "", "`file` of another version of the engraver's script")
	return c
}

func runServe(ctx context.Context, in io.Reader, out, errw io.Writer, j *journal.Journal, o *serveOptions) error {
	host, port, err := o.address()
	if err != nil {
		return err
	}
	pass, err := o.phrase(in, errw, !isLoopback(host))
	if err != nil {
		return err
	}
	engraver, err := chooseEngraver(o.engraver)
	if err != nil {
		return err
	}
	keep, err := takesFolder(o.keep)
	if err != nil {
		return err
	}
	scores := scoreFolders(o.scores)
	s, err := serve.New(serve.Options{
		Journal: j, Recordings: keep, Passphrase: pass, Names: o.known(host), Engraver: engraver,
		Find: func(words string) (serve.Asked, error) {
			a, err := findAsked(words, scores)
			if err != nil {
				return serve.Asked{}, err
			}
			return serve.Asked{Title: a.title, Candidates: a.candidates}, nil
		},
		Show:  func(t *journal.Take) (*report.Take, error) { return keptTake(t, scores) },
		Exams: keptExams{j},
		Log:   func(err error) { say(errw, err) },
	})
	if err != nil {
		return usageError{err}
	}
	l, err := net.Listen("tcp", net.JoinHostPort(host, strconv.Itoa(port)))
	if err != nil {
		return fmt.Errorf("nothing can be served at %s, port %d: %w; choose another with --port, or 0 for any", host, port, innermost(err))
	}
	for _, a := range addresses(l.Addr().(*net.TCPAddr)) {
		fmt.Fprintf(out, "http://%s/\n", a)
	}
	fmt.Fprintln(out, "Open it in a browser. Ctrl-C ends it.")
	return s.Serve(ctx, l)
}

// innermost is the operating system's own word.
func innermost(err error) error {
	for {
		next := errors.Unwrap(err)
		if next == nil {
			return err
		}
		err = next
	}
}

// loopback is the address that only this machine can reach.
const loopback = "127.0.0.1"

// address is where to serve.
func (o *serveOptions) address() (host string, port int, err error) {
	host, port = loopback, o.port
	if o.listen != "" {
		host = strings.Trim(o.listen, "[]")
		if h, p, err := net.SplitHostPort(o.listen); err == nil {
			if host = h; host == "" {
				host = "0.0.0.0"
			}
			if port, err = strconv.Atoi(p); err != nil {
				return "", 0, usageError{fmt.Errorf("no port %q: give --listen an address, as in 192.168.1.20", p)}
			}
		}
	}
	if port < 0 || port > 65535 {
		return "", 0, usageError{fmt.Errorf("no port %d: choose one from 1024 to 65535, or 0 for any", port)}
	}
	return host, port, nil
}

func isLoopback(host string) bool {
	a, err := netip.ParseAddr(host)
	return err == nil && a.IsLoopback() || host == "localhost"
}

// known are the names by which the server may be called besides its addresses.
func (o *serveOptions) known(host string) []string {
	names := o.names
	if _, err := netip.ParseAddr(host); err != nil {
		names = append(names, host)
	}
	if own, err := os.Hostname(); err == nil && len(o.names) == 0 && !isLoopback(host) {
		names = append(names, own, own+".local")
	}
	return names
}

// phrase is the passphrase: that of the environment or the file, or else, where it is needed, one that is
// typed in. It is never on the command line, which other users of the machine can see.
func (o *serveOptions) phrase(in io.Reader, errw io.Writer, needed bool) (string, error) {
	if o.passphrase != "" {
		f, err := os.Open(o.passphrase)
		if err != nil {
			return "", fmt.Errorf("no passphrase from %s: %w", o.passphrase, cause(err))
		}
		defer f.Close()
		return firstLine(f)
	}
	if p := os.Getenv("EVENHAND_PASSPHRASE"); p != "" || !needed {
		return p, nil
	}
	f, ok := in.(*os.File)
	if !ok || !term.IsTerminal(int(f.Fd())) {
		return "", usageError{errors.New("other machines are served only with a passphrase: set EVENHAND_PASSPHRASE, or give --phrase")}
	}
	fmt.Fprint(errw, "Passphrase for the pages: ")
	typed, err := term.ReadPassword(int(f.Fd()))
	fmt.Fprintln(errw)
	return string(typed), err
}

func firstLine(r io.Reader) (string, error) {
	s := bufio.NewScanner(io.LimitReader(r, 4096))
	if !s.Scan() || s.Text() == "" {
		return "", errors.Join(errors.New("the file of the passphrase is empty: write it into the first line"), s.Err())
	}
	return s.Text(), nil
}

// addresses are how a listener can be reached.
func addresses(at *net.TCPAddr) []string {
	port := strconv.Itoa(at.Port)
	if !at.IP.IsUnspecified() {
		return []string{net.JoinHostPort(at.IP.String(), port)}
	}
	out := []string{net.JoinHostPort(loopback, port)}
	all, _ := net.InterfaceAddrs() // those not known are not told
	for _, a := range all {
		if n, ok := a.(*net.IPNet); ok && n.IP.To4() != nil && !n.IP.IsLoopback() {
			out = append(out, net.JoinHostPort(n.IP.String(), port))
		}
	}
	return out
}
