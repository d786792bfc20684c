package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"

	"evenpull/server/store"
	"evenpull/sync/merge"
)

// inspect opens a data folder as it is at this moment: itself where no server
// runs on it, else a copy that is thrown away afterwards.
func inspect(ctx context.Context, data string, work func(*store.Store) error) error {
	if !store.HoldsStore(data) {
		return errNoStore(data)
	}
	st, err := store.Open(data)
	if errors.Is(err, store.ErrLocked) {
		copied, err := os.MkdirTemp(data, "copy-")
		if err != nil {
			return err
		}
		defer os.RemoveAll(copied)
		from, err := openBackup(ctx, data)
		if err != nil {
			return err
		}
		defer from.Close()
		if _, err := store.Unpack(from, copied); err != nil {
			return err
		}
		if st, err = store.Open(copied); err != nil {
			return err
		}
		return errors.Join(work(st), st.Close())
	}
	if err != nil {
		return err
	}
	return errors.Join(work(st), st.Close())
}

// check reads everything and names what is wrong.
func check(ctx context.Context, args []string, e env) error {
	s, data := dataSettings("check", "evenpull check reads the whole store and says what is wrong with it.")
	if _, err := s.parse(args, e); err != nil {
		return shown(err)
	}
	return inspect(ctx, *data, func(st *store.Store) error {
		n, problems := st.Check()
		fmt.Fprintf(e.out, "%d studios, %d records, %d ops, %d photos\n", n.Studios, n.Records, n.Ops, n.Photos)
		for _, p := range problems {
			fmt.Fprintf(e.out, "wrong: %s\n", p)
		}
		if len(problems) > 0 {
			return fmt.Errorf("%d things are wrong. Make a backup of the folder as it is, then restore the last good backup: phones hand back what is newer", len(problems))
		}
		fmt.Fprintln(e.out, "nothing is wrong")
		return nil
	})
}

// export writes what the studios hold in files that need no Evenpull server.
func export(ctx context.Context, args []string, e env) error {
	s, data := dataSettings("export", "evenpull export FOLDER writes each studio as a phone's copy, which the app opens, and as tables.", "FOLDER")
	words, err := s.parse(args, e)
	if err != nil {
		return shown(err)
	}
	folder := words[0]
	if err := os.Mkdir(folder, 0o700); err != nil {
		return fmt.Errorf("the folder for the export can't be made: %w", err)
	}
	return inspect(ctx, *data, func(st *store.Store) error {
		for _, studio := range st.Studios() {
			var kinds map[string][]*merge.Record
			name := filepath.Join(folder, studio.ID.String())
			if err := writeFile(name+".evenpull", func(w io.Writer) (err error) { kinds, err = st.Export(w, studio.ID); return err }); err != nil {
				return err
			}
			for kind, records := range kinds {
				if err := writeFile(name+"-"+kind+".csv", func(w io.Writer) error { return store.Table(w, records) }); err != nil {
					return err
				}
			}
			fmt.Fprintf(e.out, "%s: studio %q, %d kinds of record\n", name+".evenpull", studio.Name, len(kinds))
		}
		return nil
	})
}

func writeFile(name string, write func(io.Writer) error) error {
	file, err := os.OpenFile(name, os.O_WRONLY|os.O_CREATE|os.O_EXCL, 0o600)
	if err != nil {
		return err
	}
	err = write(file)
	return errors.Join(err, file.Sync(), file.Close())
}
