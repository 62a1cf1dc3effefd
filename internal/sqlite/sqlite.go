// Package sqlite keeps the record in one SQLite file: every thing a row, every
// act a line of the history, all of an act in one transaction that is on the
// disk before it is acknowledged (WAL, synchronous=FULL).
//
// One process writes (internal/files holds the folder's lock); others may read
// beside it. What a thing is and what it may hold is not decided here, but in
// the root package.
//
// Sources: the SQLite documentation on WAL, FTS5 contentless-delete tables and
// pragma synchronous (from memory).
package sqlite

import (
	"context"
	"database/sql"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/url"
	"path/filepath"
	"time"

	"beatwright"

	"github.com/pressly/goose/v3"
	_ "modernc.org/sqlite" // the driver
)

//go:embed migrations/*.sql
var migrations embed.FS

// File is the name of the record's file in the workshop folder.
const File = "record.sqlite"

// Store is an open record.
type Store struct {
	write, read *sql.DB
	// Now is the clock of the history.
	now func() time.Time
}

// Options of an open record.
type Options struct {
	// Now is the clock; nil is the computer's.
	Now func() time.Time
	// ReadOnly opens beside the program that writes: Apply and Undo fail.
	ReadOnly bool
	// VFS is the name of a file layer to use in place of the system's, for
	// tests; it must be registered, and is used by one connection alone.
	VFS string
}

// Open opens the record in the workshop folder dir, making it or bringing it to
// the present form as needed. A record of a later form is refused in words.
func Open(ctx context.Context, dir string, o Options) (*Store, error) {
	if o.Now == nil {
		o.Now = time.Now
	}
	s := &Store{now: o.Now}
	path := filepath.Join(dir, File)
	var err error
	if !o.ReadOnly {
		if s.write, err = sql.Open("sqlite", address(path, o, false)); err != nil {
			return nil, storage("open the record", err)
		}
		s.write.SetMaxOpenConns(1)
		if err := migrate(ctx, s.write); err != nil {
			s.write.Close()
			return nil, err
		}
	}
	if o.VFS != "" {
		s.read = s.write
		return s, nil
	}
	if s.read, err = sql.Open("sqlite", address(path, o, true)); err != nil {
		s.Close()
		return nil, storage("open the record", err)
	}
	s.read.SetMaxOpenConns(4)
	if o.ReadOnly {
		if err := checkForm(ctx, s.read); err != nil {
			s.read.Close()
			return nil, err
		}
	}
	return s, nil
}

// address is the connection string: what must hold for every connection.
func address(path string, o Options, readOnly bool) string {
	q := url.Values{}
	add := func(pragma string) { q.Add("_pragma", pragma) }
	add("busy_timeout(5000)")
	add("foreign_keys(1)")
	q.Set("_txlock", "immediate")
	if o.VFS != "" {
		q.Set("vfs", o.VFS)
		add("locking_mode(EXCLUSIVE)")
	}
	if readOnly {
		q.Set("_txlock", "deferred")
		add("query_only(1)")
		if o.ReadOnly {
			q.Set("mode", "ro")
		}
	} else {
		// Not among the pragmas: the driver sorts those, and a file layer
		// without shared memory can do WAL only after locking_mode.
		q.Set("_journal_mode", "WAL")
		q.Set("_synchronous", "FULL")
	}
	path = filepath.ToSlash(path)
	if filepath.VolumeName(path) != "" {
		path = "/" + path
	}
	return "file:" + (&url.URL{Path: path}).EscapedPath() + "?" + q.Encode()
}

func provider(db *sql.DB) (*goose.Provider, error) {
	dir, err := fs.Sub(migrations, "migrations")
	if err != nil {
		return nil, err
	}
	return goose.NewProvider(goose.DialectSQLite3, db, dir)
}

func migrate(ctx context.Context, db *sql.DB) error {
	if err := checkForm(ctx, db); err != nil {
		return err
	}
	p, err := provider(db)
	if err != nil {
		return storage("read the record", err)
	}
	if _, err := p.Up(ctx); err != nil {
		return storage("bring the record to its present form", err)
	}
	return storage("write the record", writable(ctx, db))
}

// writable asks to write nothing: a folder that cannot be written to is better
// known at the start than at the first change, and SQLite begins even an
// immediate transaction on one without a word.
func writable(ctx context.Context, db *sql.DB) error {
	_, err := db.ExecContext(ctx, `UPDATE change SET who = who WHERE false`)
	return err
}

// checkForm refuses a record that a later program has written.
func checkForm(ctx context.Context, db *sql.DB) error {
	p, err := provider(db)
	if err != nil {
		return err
	}
	var known int64
	for _, s := range p.ListSources() {
		known = max(known, s.Version)
	}
	has, err := form(ctx, db)
	switch {
	case err != nil:
		return storage("read the record", err)
	case has > known:
		return &beatwright.Error{
			Code: beatwright.Newer,
			Text: fmt.Sprintf("this workshop folder was written by a later beatwright (its form is %d, this program knows %d)", has, known),
			Do:   "nothing was touched; use the later program, or another folder",
		}
	}
	return nil
}

// form is the number of the last change of form that the record has been
// through; 0 for an empty file.
func form(ctx context.Context, db *sql.DB) (int64, error) {
	var n int64
	err := db.QueryRowContext(ctx, `SELECT count(*) FROM sqlite_master WHERE name = 'goose_db_version'`).Scan(&n)
	if err != nil || n == 0 {
		return 0, err
	}
	err = db.QueryRowContext(ctx, `SELECT coalesce(max(version_id), 0) FROM goose_db_version WHERE is_applied`).Scan(&n)
	return n, err
}

// Close ends it; what was acknowledged is on the disk already.
func (s *Store) Close() error {
	var errs []error
	if s.read != nil && s.read != s.write {
		errs = append(errs, s.read.Close())
	}
	if s.write != nil {
		errs = append(errs, s.write.Close())
	}
	return errors.Join(errs...)
}

// CopyTo writes a whole, consistent copy of the record to a new file.
func (s *Store) CopyTo(ctx context.Context, path string) error {
	if _, err := s.read.ExecContext(ctx, `VACUUM INTO ?`, path); err != nil {
		return storage("copy the record", err)
	}
	return nil
}

// Verify lets SQLite look through the whole file, and every reference in it.
func (s *Store) Verify(ctx context.Context) error {
	var says string
	if err := s.read.QueryRowContext(ctx, `PRAGMA integrity_check`).Scan(&says); err != nil {
		return storage("check the record", err)
	}
	if says != "ok" {
		return &beatwright.Error{Code: beatwright.Storage, Text: "the record is damaged: " + says, Do: "go back to the last copy of the folder"}
	}
	rows, err := s.read.QueryContext(ctx, `PRAGMA foreign_key_check`)
	if err != nil {
		return storage("check the record", err)
	}
	defer rows.Close()
	if rows.Next() {
		return &beatwright.Error{Code: beatwright.Storage, Text: "the record refers to things that are not there", Do: "go back to the last copy of the folder"}
	}
	return rows.Err()
}
