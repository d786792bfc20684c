package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"time"

	"evenpull/server/store"
)

func dataSettings(name, about string, words ...string) (settings, *string) {
	s, data := newSettings(name, about, words...), new(string)
	dataFlag(s, data)
	return s, data
}

// backup writes everything of a data folder into one file.
func backup(ctx context.Context, args []string, e env) error {
	s, data := dataSettings("backup", "evenpull backup FILE writes everything into one file, while the server runs or not.", "FILE")
	words, err := s.parse(args, e)
	if err != nil {
		return shown(err)
	}
	name := words[0]
	if _, err := os.Stat(name); !errors.Is(err, fs.ErrNotExist) {
		return fmt.Errorf("%s is there already; name another file", name)
	}
	from, err := openBackup(ctx, *data)
	if err != nil {
		return err
	}
	defer from.Close()
	part := name + ".part"
	file, err := os.OpenFile(part, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return fmt.Errorf("the backup can't be written: %w", err)
	}
	p := &progress{out: e.errout, term: e.term}
	n, err := io.Copy(io.MultiWriter(file, p), from)
	err = errors.Join(err, file.Sync(), file.Close())
	if err == nil {
		err = readBack(part) // whoever needs it one day must be able to
	}
	if err == nil {
		err = os.Rename(part, name)
	}
	if err != nil {
		_ = os.Remove(part)
		return fmt.Errorf("no backup was made: %w", err)
	}
	p.end()
	fmt.Fprintf(e.out, "%s: %.1f MB, whole. It holds the server's keys and all that the studios wrote: only you can read it (mode 0600); keep it so.\n", name, float64(n)/1e6)
	return nil
}

func readBack(name string) error {
	file, err := os.Open(name)
	if err != nil {
		return err
	}
	defer file.Close()
	return store.Verify(file)
}

// progress says now and then how much is done, on one line of a terminal.
type progress struct {
	out   io.Writer
	term  bool
	bytes int64
	last  time.Time
}

func (p *progress) Write(b []byte) (int, error) {
	p.bytes += int64(len(b))
	if now := time.Now(); p.term && now.Sub(p.last) > 200*time.Millisecond {
		p.last = now
		fmt.Fprintf(p.out, "\r%.1f MB", float64(p.bytes)/1e6)
	}
	return len(b), nil
}

func (p *progress) end() {
	if p.term {
		fmt.Fprint(p.out, "\r             \r")
	}
}

// restore makes a server of a backup.
func restore(_ context.Context, args []string, e env) error {
	s, data := dataSettings("restore", "evenpull restore FILE makes a server of a backup, in an empty data folder.", "FILE")
	words, err := s.parse(args, e)
	if err != nil {
		return shown(err)
	}
	file, err := os.Open(words[0])
	if err != nil {
		return fmt.Errorf("the backup can't be read: %w", err)
	}
	defer file.Close()
	if err := store.Folder(*data); err != nil {
		return err
	}
	head, err := store.Restore(io.TeeReader(file, &progress{out: e.errout, term: e.term}), *data)
	if err != nil {
		return fmt.Errorf("nothing was restored: %w", err)
	}
	fmt.Fprintf(e.out, "%s is the server again as it was on %s. Phones hand back what it does not know yet.\n"+
		"Codes that were open then open nothing; access that was ended since is open again: end it once more, and let in again whoever came later.\n",
		*data, time.UnixMilli(head.MadeMS).UTC().Format("2 January 2006 15:04 UTC"))
	return nil
}
