package store

import (
	"bytes"
	"errors"
	"io/fs"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"evenpull/server/account"
	"evenpull/sync/ops"
)

var somebody = account.Phone{ID: ops.ID{1}, Key: []byte("key")}

func putPhone(t *testing.T, s *Store) {
	t.Helper()
	if err := s.Accounts(t.Context(), func(tx account.Tx) error { tx.PutPhone(somebody); return nil }); err != nil {
		t.Fatal(err)
	}
}

func TestWhatWasWrittenIsThereAfterReopening(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, folder)
	putPhone(t, s)
	server, key := s.Server(), s.Key()
	if err := s.Close(); err != nil {
		t.Fatal(err)
	}
	s = opened(t, folder)
	if s.Server() != server || !s.Key().Equal(key) {
		t.Error("another server after reopening")
	}
	if err := s.Look(func(tx account.Tx) error {
		if p, ok := tx.Phone(somebody.ID); !ok || !bytes.Equal(p.Key, somebody.Key) {
			t.Errorf("phone %+v, %v", p, ok)
		}
		return nil
	}); err != nil {
		t.Fatal(err)
	}
}

func TestTwoCanNotOpenOneFolder(t *testing.T) {
	folder := t.TempDir()
	opened(t, folder)
	if s, err := Open(folder); !errors.Is(err, ErrLocked) {
		t.Errorf("opened twice: %v, %v", s, err)
	}
}

func TestOnlyTheOwnerReads(t *testing.T) {
	folder := filepath.Join(t.TempDir(), "data")
	if err := Folder(folder); err != nil {
		t.Fatal(err)
	}
	opened(t, folder)
	err := filepath.WalkDir(folder, func(name string, e fs.DirEntry, err error) error {
		if err != nil {
			return err
		}
		info, err := e.Info()
		if err == nil && info.Mode().Perm()&0o077 != 0 {
			t.Errorf("%s has mode %v", name, info.Mode())
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
}

func TestANewerStoreIsLeftAlone(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, folder)
	if err := s.engine.update(func(r rows) error { r.put(tMeta, []byte("version"), []byte("99")); return nil }); err != nil {
		t.Fatal(err)
	}
	s.Close()
	before := contents(t, folder)
	if _, err := Open(folder); err == nil || !strings.Contains(err.Error(), "newer") {
		t.Errorf("a newer store: %v", err)
	}
	if after := contents(t, folder); after != before {
		t.Error("something was changed")
	}
}

func TestAnOlderStoreIsCopiedThenMigrated(t *testing.T) {
	folder := t.TempDir()
	name := filepath.Join(folder, "evenpull.db")
	first := opened(t, folder)
	putPhone(t, first)
	first.Close()
	s, err := openBolt(name)
	if err != nil {
		t.Fatal(err)
	}
	defer s.close()
	if err := s.update(func(r rows) error { r.put(tMeta, []byte("version"), []byte("1")); return nil }); err != nil {
		t.Fatal(err)
	}
	steps := []func(rows) error{
		func(r rows) error { r.put(tMeta, []byte("step"), []byte("one")); return nil },
		func(r rows) error { r.put(tMeta, []byte("step"), []byte("two")); return nil },
	}
	broken := append(steps[:1:1], func(rows) error { return errors.New("no") })
	if err := migrate(s, name, broken, time.Unix(1, 0)); err == nil {
		t.Fatal("a broken step went through")
	}
	if got := meta(t, s, "version") + meta(t, s, "step"); got != "1" {
		t.Errorf("after a broken step the store says %q", got)
	}
	if err := migrate(s, name, steps, time.Unix(2, 0)); err != nil {
		t.Fatal(err)
	}
	if got := meta(t, s, "version") + meta(t, s, "step"); got != "3two" {
		t.Errorf("after migrating the store says %q", got)
	}
	copied, err := filepath.Glob(name + "-version-1-*02Z")
	if err != nil || len(copied) != 1 {
		t.Fatalf("copies beside it: %v, %v", copied, err)
	}
	old, err := openBolt(copied[0])
	if err != nil {
		t.Fatal(err)
	}
	defer old.close()
	if got := meta(t, old, "version") + meta(t, old, "step"); got != "1" {
		t.Errorf("the copy says %q", got)
	}
}

func meta(t *testing.T, e engine, name string) (value string) {
	t.Helper()
	if err := e.view(func(r rows) error { value = string(r.get(tMeta, []byte(name))); return nil }); err != nil {
		t.Fatal(err)
	}
	return value
}

func contents(t *testing.T, folder string) (all string) {
	t.Helper()
	err := filepath.WalkDir(folder, func(name string, e fs.DirEntry, err error) error {
		all += name + "\n"
		if err == nil && !e.IsDir() {
			all += string(readFile(t, name))
		}
		return err
	})
	if err != nil {
		t.Fatal(err)
	}
	return all
}

func readFile(t *testing.T, name string) []byte {
	t.Helper()
	raw, err := os.ReadFile(name)
	if err != nil {
		t.Fatal(err)
	}
	return raw
}

func TestUnfinishedPhotosAreDroppedAfterADay(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, folder)
	now := time.Now()
	put := func(name string, age time.Duration) string {
		file := filepath.Join(folder, "photos", name)
		if err := os.WriteFile(file, []byte("x"), 0o600); err != nil {
			t.Fatal(err)
		}
		if err := os.Chtimes(file, now, now.Add(-age)); err != nil {
			t.Fatal(err)
		}
		return file
	}
	files := map[string]bool{put("old.part", 25*time.Hour): false, put("young.part", 20*time.Hour): true, put("whole", 1000*time.Hour): true}
	s.now = func() time.Time { return now.Add(61 * time.Minute) } // the first look was at the start
	for range 2 {                                                 // the second waits for what follows the first
		if err := s.Ready(t.Context()); err != nil {
			t.Fatal(err)
		}
	}
	for file, stays := range files {
		if _, err := os.Stat(file); (err == nil) != stays {
			t.Errorf("%s: %v; stays is %v", file, err, stays)
		}
	}
}

func TestAnInviteFromTheShellOpensAndIsUsedUp(t *testing.T) {
	folder := t.TempDir()
	s := opened(t, folder)
	studio := account.Studio{ID: ops.ID{9}, Name: "Barn"}
	now := time.Now()
	code := account.NewCode()
	h, err := account.HashCode(code)
	if err != nil {
		t.Fatal(err)
	}
	if err := LayInvite(folder, account.Invite{Hash: h, Kind: account.ForPerson, Role: account.Keeper, Most: 1, EndsMS: now.Add(time.Minute).UnixMilli()}); err != nil {
		t.Fatal(err)
	}
	join := func(n byte) (j account.Joined, err error) {
		err = s.Accounts(t.Context(), func(tx account.Tx) error {
			if _, ok := tx.Studio(studio.ID); !ok {
				tx.AddStudio(studio)
			}
			j, err = account.Join(tx, account.Joiner{Hash: h, Person: ops.ID{n}, Name: "Ines", Phone: account.Phone{ID: ops.ID{n}}, Label: "new phone"}, now)
			return err
		})
		return j, err
	}
	if j, err := join(1); err != nil || j.Role != account.Keeper || j.Studio.ID != studio.ID {
		t.Errorf("joined %+v, %v", j, err)
	}
	if _, err := join(2); err == nil {
		t.Error("the code opened twice")
	}
}
