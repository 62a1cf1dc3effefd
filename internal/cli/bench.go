package cli

import (
	"context"
	"errors"
	"fmt"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"beatwright"
	"beatwright/internal/files"
	"beatwright/internal/live"
	"beatwright/internal/sqlite"
	"beatwright/internal/web"
)

type benchCmd struct {
	Folder *string `env:"BEATWRIGHT_FOLDER" placeholder:"DIR" help:"The workshop folder (a place of its own in your home folder without it)."`
	Addr   string  `default:"127.0.0.1:8425" placeholder:"HOST:PORT" help:"Where the page answers."`
	NoOpen bool    `help:"Do not open a browser."`
}

func (c *benchCmd) run(s *session) error {
	dir, err := folderOf(c.Folder)
	if err != nil {
		return err
	}
	return s.serve(dir, c.Addr, !c.NoOpen, nil)
}

// filler is run on an open workshop before the first answer. What it returns is
// run before the workshop is closed.
type filler func(context.Context, *live.Bench) (end func(), err error)

// serve opens the workshop in dir and answers until the context ends, after
// fill, if that is not nil.
func (s *session) serve(dir, addr string, browse bool, fill filler) error {
	folder, err := files.Open(dir, files.Options{Now: s.Now})
	if err != nil {
		if at := openAt(err); at != "" && s.clicked {
			openBrowser(at)
			fmt.Fprintf(s.stdout, "The workshop in %s is open already, at %s\n", dir, at)
			return nil
		}
		return inUse(err)
	}
	defer folder.Close()
	record, err := sqlite.Open(s.ctx, dir, sqlite.Options{Now: s.Now})
	if err != nil {
		return err
	}
	defer record.Close()
	bench := live.NewBench(record, folder, "beatwright "+thisBuild().Version)
	defer bench.Close()
	switch n, err := bench.Salvage(s.ctx); {
	case err != nil:
		fmt.Fprintln(s.stderr, "beatwright:", err)
	case n > 0:
		fmt.Fprintf(s.stdout, "Kept from when the program was stopped: %d hearing(s).\n", n)
	}
	if fill != nil {
		end, err := fill(s.ctx, bench)
		if err != nil {
			return err
		}
		defer end()
	}
	page, err := web.New(bench, web.Options{Version: thisBuild().Version})
	if err != nil {
		return err
	}
	l, err := listen(addr)
	if err != nil {
		return err
	}
	at := "http://" + l.Addr().String() + "/"
	if err := folder.SetAddress(at); err != nil {
		return err
	}
	fmt.Fprintf(s.stdout, "The workshop in %s is open at %s\nCtrl-C closes it.\n", dir, at)
	if browse {
		openBrowser(at) // no browser is no failure: the address stands above
	}
	return s.answer(l, page)
}

// answer serves until the context ends, then lets what is under way finish.
func (s *session) answer(l net.Listener, h http.Handler) error {
	srv := &http.Server{Handler: h, ReadHeaderTimeout: 10 * time.Second, IdleTimeout: 2 * time.Minute}
	ended := make(chan error, 1)
	go func() { ended <- srv.Serve(l) }()
	select {
	case err := <-ended:
		return err
	case <-s.ctx.Done():
	}
	ctx, cancel := context.WithTimeout(context.WithoutCancel(s.ctx), 5*time.Second)
	defer cancel()
	if err := srv.Shutdown(ctx); err != nil {
		srv.Close()
	}
	<-ended
	return nil
}

func listen(addr string) (net.Listener, error) {
	host, _, err := net.SplitHostPort(addr)
	if err != nil {
		return nil, usageError{err: fmt.Errorf("--addr %s: write it as 127.0.0.1:8425", addr)}
	}
	if ip := net.ParseIP(host); host != "localhost" && (ip == nil || !ip.IsLoopback()) {
		return nil, usageError{err: fmt.Errorf("--addr %s: the page answers on this computer only; use 127.0.0.1", addr)}
	}
	l, err := net.Listen("tcp", addr)
	if err != nil {
		return nil, fmt.Errorf("answer at %s: %w; is another program there? --addr 127.0.0.1:0 takes any free place", addr, err)
	}
	return l, nil
}

// inUse says where a folder that is open already can be found.
func inUse(err error) error {
	if at := openAt(err); at != "" {
		return &beatwright.Error{Code: beatwright.Busy, Text: "this workshop folder is open already, at " + at, Do: "use it there, or close it first"}
	}
	return err
}

// openAt is where a folder is open already, empty if that is not what err is
// about.
func openAt(err error) string {
	if busy, ok := errors.AsType[*files.BusyError](err); ok {
		return busy.Holder.Address
	}
	return ""
}

// folderOf is the workshop folder that was named; when nothing is said, one in
// the home folder.
func folderOf(named *string) (string, error) {
	if named != nil && *named != "" {
		return *named, nil
	}
	dir, err := os.UserHomeDir()
	if err != nil {
		return "", fmt.Errorf("find your home folder: %w; name a workshop folder with --folder", err)
	}
	return filepath.Join(dir, "beatwright"), nil
}
