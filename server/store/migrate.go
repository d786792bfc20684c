package store

import (
	"errors"
	"fmt"
	"io"
	"os"
	"strconv"
	"time"
)

// migrations lead from each version of the store to the next: the first from 1
// to 2. The store's version is one more than their number.
func migrations() []func(rows) error { return []func(rows) error{intoBlocks} }

// migrate brings an older store to this version in one transaction, after
// copying it beside. A newer one is left as it is.
func migrate(e engine, beside string, steps []func(rows) error, now time.Time) error {
	version := 0
	err := e.view(func(r rows) error {
		raw := r.get(tMeta, []byte("version"))
		if raw == nil {
			return nil
		}
		var err error
		version, err = strconv.Atoi(string(raw))
		return err
	})
	current := len(steps) + 1
	switch {
	case err != nil:
		return fmt.Errorf("the store's version can't be read: %w", err)
	case version > current:
		return fmt.Errorf("this data folder is of a newer Evenpull (store version %d, this program knows %d); nothing was changed: use the newer program", version, current)
	case version == current || version == 0:
		return nil
	}
	copied := fmt.Sprintf("%s-version-%d-%s", beside, version, now.UTC().Format("20060102T150405Z"))
	if err := copyBeside(e, copied); err != nil {
		return fmt.Errorf("the store could not be copied to %s before bringing it to version %d; nothing was changed: %w", copied, current, err)
	}
	err = e.update(func(r rows) (err error) {
		defer func() {
			if p := recover(); p != nil {
				err = fmt.Errorf("it is broken: %v", p)
			}
		}()
		for _, step := range steps[version-1:] {
			if err := step(r); err != nil {
				return err
			}
		}
		r.put(tMeta, []byte("version"), []byte(strconv.Itoa(current)))
		return nil
	})
	if err != nil {
		return fmt.Errorf("the store could not be brought from version %d to %d; it is as it was: %w", version, current, err)
	}
	return nil
}

func copyBeside(e engine, name string) error {
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_TRUNC, 0o600)
	if err != nil {
		return err
	}
	err = e.snapshot(func(_ rows, _ int64, copyTo func(io.Writer) error) error { return copyTo(file) })
	return errors.Join(err, file.Sync(), file.Close())
}
