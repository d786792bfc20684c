package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"time"

	"evenpull/server/account"
	"evenpull/server/demo"
	"evenpull/server/store"
)

// demoLife is how long the demo's code lets phones in.
const demoLife = 31 * 24 * time.Hour

var errNotEmpty = errors.New("--demo fills only an empty data folder, and this one holds a studio; name another with --data")

// empty reports whether the store holds no studio yet.
func empty(st *store.Store) (bool, error) {
	none := false
	err := st.Look(func(tx account.Tx) error {
		none = len(tx.Studios()) == 0
		return nil
	})
	return none, err
}

// fillDemo puts the demo studio into an empty store, taken in like anything a
// phone sends, and prints a keeper's code for phones on this machine alone.
func fillDemo(ctx context.Context, st *store.Store, out io.Writer, at string) error {
	now := time.Now()
	d, err := demo.Make(now)
	if err != nil {
		return err
	}
	code := ""
	err = st.Accounts(ctx, func(tx account.Tx) (err error) {
		studio := account.Studio{ID: d.ID, Name: d.Name}
		tx.AddStudio(studio)
		for _, p := range d.People {
			tx.PutMember(d.ID, account.Member{Person: p.ID, Role: account.Keeper})
			if err := tx.Write(d.ID, p.ID, "person", p.ID, map[string]any{"name": p.Name}); err != nil {
				return err
			}
		}
		code, _, err = account.Issue(tx, account.Invite{Kind: account.ForClass, Studio: d.ID, Role: account.Keeper,
			EndsMS: now.Add(demoLife).UnixMilli(), Most: 1000, Loopback: true}, now)
		return err
	})
	if err != nil {
		return err
	}
	for _, req := range d.Requests {
		if err := st.Take(ctx, d.ID, req); err != nil {
			return fmt.Errorf("the demo studio can't be taken in: %w", err)
		}
	}
	fmt.Fprintf(out, "The demo studio is in it. On this machine open\n  %speople/join#%s\nor type the code %s in the app: I have a code.\n", at, code, code)
	return nil
}
