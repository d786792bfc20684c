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

const demoLife = 31 * 24 * time.Hour

var errNotEmpty = errors.New("--demo fills only an empty data folder, and this one holds a studio; name another with --data")

// checkDemo makes the demo and refuses a store that holds anything else.
func checkDemo(st *store.Store, now time.Time) (d demo.Studio, filled bool, err error) {
	if d, err = demo.Make(now); err != nil {
		return d, false, err
	}
	err = st.Look(func(tx account.Tx) error {
		_, filled = tx.Studio(d.ID)
		if !filled && len(tx.Studios()) > 0 {
			return errNotEmpty
		}
		return nil
	})
	return d, filled, err
}

// showDemo fills an empty store with the demo studio and prints a code that
// opens it as keeper, as often as wanted, from this machine only.
func showDemo(ctx context.Context, st *store.Store, out io.Writer, at string) error {
	now := time.Now()
	d, filled, err := checkDemo(st, now)
	if err != nil {
		return err
	}
	if !filled {
		err := st.Bring(ctx, account.Studio{ID: d.ID, Name: d.Name}, d.Requests, func(tx account.Tx) error {
			for _, p := range d.People {
				if err := account.Settle(tx, d.ID, p.ID, p.Name, account.Operator); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return fmt.Errorf("the demo studio can't be filled in: %w", err)
		}
	}
	var code string
	err = st.Accounts(ctx, func(tx account.Tx) (err error) {
		code, _, err = account.Issue(tx, account.Invite{Kind: account.ForClass, Studio: d.ID, Role: account.Keeper, Loopback: true,
			Most: account.ClassMost, EndsMS: now.Add(demoLife).UnixMilli()}, now)
		return err
	})
	if err != nil {
		return err
	}
	fmt.Fprintf(out, "The demo studio is in it. On this machine open\n  %speople/join#%s\nor type the code %s in the app: I have a code.\n", at, code, code)
	return nil
}
