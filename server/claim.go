package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"
	"time"

	"github.com/mattn/go-isatty"

	"evenpull/server/account"
	"evenpull/server/store"
)

// A claimCode makes an unclaimed server somebody's. It is shown where only the
// one who started the server reads it: on a terminal, else in a file of theirs.
type claimCode struct {
	folder string
	out    io.Writer
	term   bool
}

func (c *claimCode) file() string { return filepath.Join(c.folder, "claim-code") }

// show makes a fresh code while the server is nobody's; those of earlier starts end with it.
func (c *claimCode) show(ctx context.Context, st *store.Store, at string) error {
	claimed := false
	if err := st.Look(func(tx account.Tx) error { claimed = len(tx.Studios()) > 0; return nil }); err != nil {
		return err
	}
	if claimed {
		c.done()
		return nil
	}
	code := ""
	err := st.Accounts(ctx, func(tx account.Tx) (err error) {
		code, _, err = account.Issue(tx, account.Invite{Kind: account.ForClaim, Role: account.Keeper, Most: 1}, time.Now())
		return err
	})
	if err != nil {
		return err
	}
	if !c.term {
		if err := os.WriteFile(c.file(), []byte(code+"\n"), 0o600); err != nil {
			return fmt.Errorf("the claim code can't be written: %w", err)
		}
		fmt.Fprintf(c.out, "Nobody has claimed this server yet. The code is in %s\n", c.file())
		return nil
	}
	link := at + "#claim=" + code
	fmt.Fprintf(c.out, "\nNobody has claimed this server yet. Whoever claims it first is its keeper:\n  code %s\n  %s\n\n", code, link)
	return printQR(c.out, link)
}

// done removes the file once the code opens nothing more.
func (c *claimCode) done() {
	if err := os.Remove(c.file()); err != nil && !errors.Is(err, fs.ErrNotExist) {
		fmt.Fprintf(c.out, "%s is of no use any more and can't be removed\n", c.file())
	}
}

func terminal(f *os.File) bool { return isatty.IsTerminal(f.Fd()) }
