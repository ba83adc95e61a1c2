package cli

import (
	"bufio"
	"cmp"
	"context"
	"fmt"
	"net/netip"
	"os"
	"os/signal"
	"path/filepath"
	"runtime/debug"
	"syscall"
	"time"

	"github.com/spf13/cobra"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/listen"
	"telltale/cmd/internal/site"
	"telltale/rules"
)

// serveOptions are the flags of serve.
type serveOptions struct {
	book    *bookOption
	dir     string
	address string
	port    int
	noOpen  bool
}

func newServe(s streams, book *bookOption) *cobra.Command {
	o := serveOptions{book: book}
	cmd := &cobra.Command{
		Use:   "serve [FOLDER]",
		Short: "Pages of a rig, or of a folder of cases, in the browser of this machine",
		Long: `Opens the browser of this machine on the pages of a folder: of a rig (pumps/ and jobs/
in it), or any folder of cases; default: this one. It goes on until Ctrl-C ends it.

Nobody else gets in: it listens on an address of the machine itself, and the address
that it prints has a secret in it that is new with each start. A second start on the
same folder opens the one that runs. From another machine, log in by SSH and lead the
port through; then open the printed address there:

  ssh -L 8765:127.0.0.1:8765 THIS-MACHINE
  telltale serve --no-open --port 8765 rig`,
		Example: "  telltale serve testdata/rig\n  telltale serve --no-open --port 8765",
		Args:    takes(0, 1, "one folder"),
		RunE: func(_ *cobra.Command, args []string) error {
			o.dir = "."
			if len(args) == 1 {
				o.dir = args[0]
			}
			return runServe(s, o)
		},
	}
	cmd.Flags().BoolVar(&o.noOpen, "no-open", false, "do not open the browser")
	cmd.Flags().IntVar(&o.port, "port", 0, "the port to listen on (default: any free one)")
	cmd.Flags().StringVar(&o.address, "address", "127.0.0.1", "the address of the machine itself to listen on: 127.0.0.1 or ::1")
	return cmd
}

// mostPort is the greatest number of a port.
const mostPort = 1<<16 - 1

// check reads where to listen.
func (o *serveOptions) check() (netip.Addr, error) {
	if o.port < 0 || o.port > mostPort {
		return netip.Addr{}, usageError{fmt.Errorf("--port is %d; expected 1 to %d, or 0 for any free one", o.port, mostPort)}
	}
	address, err := listen.Loopback(o.address)
	if err != nil {
		port := cmp.Or(o.port, 8765)
		return address, usageError{fmt.Errorf("--address: %w.\nWho can reach the pages can write into the cases, so nobody but this machine is let in. From another machine, log in by SSH and lead the port through:\n  ssh -L %[2]d:127.0.0.1:%[2]d THIS-MACHINE\n  telltale serve --no-open --port %[2]d\nThen open the printed address there", err, port)}
	}
	return address, nil
}

func runServe(s streams, o serveOptions) error {
	address, err := o.check()
	if err != nil {
		return err
	}
	folder, err := folderOf(o.dir)
	if err != nil {
		return fileError{err}
	}
	book, err := o.book.loadIn(folder)
	if err != nil {
		return err
	}
	pages, err := site.New(book, folder, time.Now, listen.Nonce)
	if err != nil {
		return fileError{err}
	}
	defer pages.Close()
	claim, running, unclaimed := claimOf(folder)
	if running != nil {
		return o.again(s, folder, running, book)
	}
	defer claim.Give()
	ctx, stop := signal.NotifyContext(context.Background(), ending()...)
	defer stop()
	context.AfterFunc(ctx, stop) // a second Ctrl-C waits for nothing
	server, err := listen.Open(address, o.port, s.err)
	if err != nil {
		return fileError{fmt.Errorf("%w\nAnother program may have this port. Without --port any free one is taken", err)}
	}
	defer server.Close()
	if unclaimed = cmp.Or(unclaimed, claim.Tell(server.Door, bookName(book))); unclaimed != nil {
		fmt.Fprintf(s.err, "telltale: it goes on, but a second start on this folder will not find this one: %s\n", doc.Shown(unclaimed.Error()))
	}
	ends := "Ctrl-C ends it"
	if s.clicked {
		ends = "this window is closed"
	}
	if _, err := fmt.Fprintf(s.out, "%s is shown to this machine alone, at %s until %s.\n", doc.Shown(folder), server.Address(), ends); err != nil {
		return fileError{err}
	}
	go o.browse(s, server.Door)
	if os.Getenv("GOGC") == "" {
		debug.SetGCPercent(rigGrowth)
	}
	return server.Serve(ctx, pages.Handler())
}

// ending are the signals that end it in order: Ctrl-C, the system, and the window that
// was closed, unless somebody had it told to go on without one.
func ending() []os.Signal {
	signals := []os.Signal{os.Interrupt, syscall.SIGTERM}
	if !signal.Ignored(syscall.SIGHUP) {
		signals = append(signals, syscall.SIGHUP)
	}
	return signals
}

// folderOf gives a folder by its one name, whichever way leads to it.
func folderOf(dir string) (string, error) {
	info, err := os.Stat(dir)
	if err != nil {
		return "", err
	}
	if !info.IsDir() {
		return "", fmt.Errorf("%s is not a folder; serve takes the folder of a rig, or one of cases", dir)
	}
	path, err := filepath.EvalSymlinks(dir)
	if err != nil {
		return "", err
	}
	return filepath.Abs(path)
}

// ownFolder is where the program lies; this folder if nobody knows.
func ownFolder() string {
	program, err := os.Executable()
	if err != nil {
		return "."
	}
	return filepath.Dir(program)
}

// claimOf claims a folder for this process, or finds who has it.
func claimOf(folder string) (*listen.Claim, *listen.Running, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		return nil, nil, err
	}
	return listen.Take(cache, folder)
}

// bookName tells one state of a rulebook from another.
func bookName(book *rules.Book) string {
	if book.Local == nil {
		return book.Digest
	}
	return book.Digest + " " + book.Local.Digest
}

// again opens the server of a folder that runs already.
func (o *serveOptions) again(s streams, folder string, running *listen.Running, book *rules.Book) error {
	says := fmt.Sprintf("%s is shown already, by a telltale that was started before, at %s\n", doc.Shown(folder), running.Address())
	if o.port != 0 && o.port != running.Port() {
		says += fmt.Sprintf("It keeps its port %d. For port %d, end it and start again.\n", running.Port(), o.port)
	}
	if running.With != bookName(book) {
		says += "It keeps the rulebook that it was started with. For this one, end it and start again.\n"
	}
	if _, err := fmt.Fprint(s.out, says); err != nil {
		return fileError{err}
	}
	if !o.browse(s, running.Door) {
		s.stay()
	}
	return nil
}

// browse opens the browser, or says that the address is enough.
func (o *serveOptions) browse(s streams, door listen.Door) bool {
	if o.noOpen {
		return true
	}
	err := listen.Browse(door.Opening())
	if err != nil {
		fmt.Fprintf(s.err, "telltale: the browser could not be opened (%s). Open the address above in the browser of this machine yourself.\n", doc.Shown(err.Error()))
	}
	return err == nil
}

// stay keeps a window that would go with the program until somebody has read it.
func (s streams) stay() {
	if s.clicked {
		fmt.Fprintln(s.err, "Press Enter to close this window.")
		_, _ = bufio.NewReader(s.in).ReadString('\n')
	}
}
