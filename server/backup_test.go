package main

import (
	"bytes"
	"crypto/sha256"
	"encoding/csv"
	"encoding/json"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"sync"
	"testing"
	"time"

	"go.etcd.io/bbolt"

	"evenpull/server/drive"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// sub runs a subcommand of the built program.
func sub(t *testing.T, args ...string) (out string, ok bool) {
	t.Helper()
	cmd := exec.Command(binary, args...)
	cmd.Env = []string{"HOME=" + t.TempDir()}
	raw, err := cmd.CombinedOutput()
	return string(raw), err == nil
}

func wantSub(t *testing.T, want string, ok bool, args ...string) {
	t.Helper()
	if out, got := sub(t, args...); got != ok || !strings.Contains(out, want) {
		t.Errorf("%v: %v %s; want %v and %q", args, got, out, ok, want)
	}
}

// A backup is taken while four phones write, and restored elsewhere. Whatever was
// acknowledged before it began is in it; whatever came later the phones hand back.
func TestBackupOfARunningServerAndItsRestore(t *testing.T) {
	data := t.TempDir()
	p := begin(t, data).up()
	k := p.claim(data)
	first := newPhone()
	must(t, k.Exchange(p.Server, first))
	early := note(t, first, "written before the backup")
	photo := append([]byte("\xff\xd8\xff\xe0"), bytes.Repeat([]byte("p"), 5000)...)
	digest := fmt.Sprintf("%x", sha256.Sum256(photo))
	_, err := first.Write("photo", ops.ID{5}, map[string]json.RawMessage{"sha256": ops.String(digest)}, time.Now().UnixMilli())
	must(t, err)
	must(t, k.Exchange(p.Server, first))
	_, err = k.Send("PUT", "/v1/studios/"+k.Studio+"/photos/"+digest, photo)
	must(t, err)
	var invite struct{ Code string }
	must(t, k.Post("/v1/studios/"+k.Studio+"/invites", map[string]any{"kind": "class", "role": "guest", "ends": time.Now().Add(time.Hour).UnixMilli()}, &invite))

	known := &kept{notes: map[ops.ID]string{}, edits: map[ops.ID]int{}}
	var writers sync.WaitGroup
	for w := range 4 {
		c := *k
		writers.Go(func() { known.write(&c, p.Server, uint64(w)) })
	}
	for known.count() < 50 {
		time.Sleep(time.Millisecond)
	}
	known.mu.Lock()
	before := &kept{notes: map[ops.ID]string{}, edits: map[ops.ID]int{}}
	for id, text := range known.notes {
		before.notes[id] = text
	}
	known.mu.Unlock()
	file := filepath.Join(t.TempDir(), "studio.backup")
	wantSub(t, "only you can read it", true, "backup", file, "--data", data)
	wantSub(t, "there already", false, "backup", file, "--data", data)
	wantSub(t, "nothing is wrong", true, "check", "--data", data) // while it runs
	info, err := os.Stat(file)
	must(t, err)
	if info.Mode().Perm() != 0o600 {
		t.Errorf("the backup has mode %v", info.Mode())
	}
	late := note(t, first, "written after the backup")
	must(t, k.Exchange(p.Server, first))
	tokenOfThen := k.Token
	p.Kill()
	writers.Wait()

	wantSub(t, "not empty", false, "restore", file, "--data", data)
	elsewhere := filepath.Join(t.TempDir(), "data")
	wantSub(t, "Phones hand back", true, "restore", file, "--data", elsewhere)
	wantSub(t, "nothing is wrong", true, "check", "--data", elsewhere)
	q := begin(t, elsewhere).up()
	if q.Server != p.Server {
		t.Error("it calls itself another server")
	}
	k.URL, k.Token = q.URL, tokenOfThen
	wantStatus(t, "a token of before", k.Exchange(q.Server, newPhone()), 401)
	must(t, k.SignIn())
	before.check(t, k, q.Server, 0)
	reader := newPhone()
	must(t, k.Exchange(q.Server, reader))
	if !holds(reader.Base.Records[merge.Key{Kind: "note", ID: early.ID}], "text", `"written before the backup"`) {
		t.Error("what was there before the backup is not in it")
	}
	if reader.Base.Records[merge.Key{Kind: "note", ID: late.ID}] != nil {
		t.Error("the restored server knows what came later: nothing was tested")
	}
	must(t, k.Exchange(q.Server, first)) // hands back what is missing
	reader = newPhone()
	must(t, k.Exchange(q.Server, reader))
	if !holds(reader.Base.Records[merge.Key{Kind: "note", ID: late.ID}], "text", `"written after the backup"`) {
		t.Error("what the backup does not know was not handed back")
	}
	got, err := k.Send("GET", "/v1/studios/"+k.Studio+"/photos/"+digest, nil)
	if err != nil || !bytes.Equal(got, photo) {
		t.Errorf("the photo came back as %d bytes, %v", len(got), err)
	}
	guest := q.caller()
	if err := guest.Enter("/v1/join", invite.Code); err == nil {
		t.Error("a code of before the restore still opens")
	}
}

func TestABackupThatIsNotWholeRestoresNothing(t *testing.T) {
	data := t.TempDir()
	p := begin(t, data).up()
	k := p.claim(data)
	phone := newPhone()
	note(t, phone, "words")
	must(t, k.Exchange(p.Server, phone))
	file := filepath.Join(t.TempDir(), "b")
	wantSub(t, "whole", true, "backup", file, "--data", data)
	whole, err := os.ReadFile(file)
	must(t, err)
	at := bytes.Index(whole, []byte("evenpull.db")) + 20_000
	for name, raw := range map[string][]byte{
		"cut off": whole[:len(whole)/2], "without its end": whole[:len(whole)-2048], "one byte other": append(append(bytes.Clone(whole[:at]), whole[at]^1), whole[at+1:]...),
		"empty": nil, "something else": []byte("PK\x03\x04 not ours"),
		"a way out": bytes.ReplaceAll(whole, []byte("evenpull.db"), []byte("../../x.db")),
	} {
		bad := filepath.Join(t.TempDir(), "bad")
		must(t, os.WriteFile(bad, raw, 0o600))
		to := filepath.Join(t.TempDir(), "data")
		wantSub(t, "nothing was restored", false, "restore", bad, "--data", to)
		if left, err := os.ReadDir(to); err != nil || len(left) > 0 {
			t.Errorf("%s: left %v, %v", name, left, err)
		}
	}
	wantSub(t, "holds no server's data", false, "backup", filepath.Join(t.TempDir(), "x"), "--data", t.TempDir())
	wantSub(t, "say FILE", false, "backup")
}

// Each table is spoilt in turn, and what check says of it is looked for.
func TestCheckNamesWhatIsWrong(t *testing.T) {
	data := t.TempDir()
	p := begin(t, data).up()
	k := p.claim(data)
	phone := newPhone()
	must(t, k.Exchange(p.Server, phone))
	for range 50 {
		note(t, phone, "words to keep")
	}
	must(t, k.Exchange(p.Server, phone))
	p.Kill()
	wantSub(t, "nothing is wrong", true, "check", "--data", data)
	store := filepath.Join(data, "evenpull.db")
	good, err := os.ReadFile(store)
	must(t, err)
	for _, c := range []struct{ table, want string }{
		{"links", "log"}, {"op-runs", "ops from"}, {"blocks", "records"}, {"places-", "looked for"}, {"vector", "kept and not known"},
		{"heads", "the log ends"}, {"members", "no keeper"}, {"phones", "the key of phone"},
	} {
		must(t, os.WriteFile(store, good, 0o600))
		db, err := bbolt.Open(store, 0o600, nil)
		must(t, err)
		must(t, db.Update(func(tx *bbolt.Tx) error {
			return tx.ForEach(func(name []byte, b *bbolt.Bucket) error {
				if !strings.HasPrefix(string(name), c.table) {
					return nil
				}
				key, value := b.Cursor().Last()
				if c.table == "op-runs" { // another byte in its middle may still unpack, to other ops
					return b.Put(bytes.Clone(key), bytes.Clone(value[:len(value)/2]))
				}
				if c.table == "blocks" || c.table == "links" || c.table == "heads" {
					spoilt := bytes.Clone(value)
					spoilt[len(spoilt)/2] ^= 0x55
					return b.Put(bytes.Clone(key), spoilt)
				}
				return b.Delete(bytes.Clone(key))
			})
		}))
		must(t, db.Close())
		wantSub(t, c.want, false, "check", "--data", data)
	}
}

func TestExportIsAPhonesCopyAndTables(t *testing.T) {
	data := t.TempDir()
	p := begin(t, data).up()
	k := p.claim(data)
	phone := newPhone()
	note(t, phone, "=1+1")
	note(t, phone, "a line,\r\nand \"another\"")
	written := map[string]map[string]json.RawMessage{
		"reading": {"drops": json.RawMessage(`[{"tenthsIn":52}]`), "at": json.RawMessage("-5")},
		"change":  {"minutes": json.RawMessage("-15"), "why": ops.String("-15, then looked")},
		"recipe":  {"name": ops.String("First light"), "dropTenthsIn": json.RawMessage("50")},
	}
	for kind, set := range written {
		_, err := phone.Write(kind, drive.NewID(), set, time.Now().UnixMilli())
		must(t, err)
	}
	must(t, k.Exchange(p.Server, phone))
	out := filepath.Join(t.TempDir(), "out")
	wantSub(t, "Barn", true, "export", out, "--data", data)
	table := func(kind string) [][]string {
		raw, err := os.ReadFile(filepath.Join(out, k.Studio+"-"+kind+".csv"))
		must(t, err)
		rows, err := csv.NewReader(bytes.NewReader(bytes.TrimPrefix(raw, []byte("\ufeff")))).ReadAll()
		must(t, err)
		return rows
	}
	for kind, want := range map[string][]string{
		"reading": {"at", "-5", "drops", `[{"tenthsIn":52}]`},
		"change":  {"minutes", "-15", "why", "'-15, then looked"},
		"recipe":  {"dropTenthsIn", "50", "name", "First light"},
	} {
		rows := table(kind)
		if len(rows) != 2 || !slices.Equal(rows[0][3:], []string{want[0], want[2]}) || !slices.Equal(rows[1][3:], []string{want[1], want[3]}) {
			t.Errorf("the table of %s: %q", kind, rows)
		}
	}
	rows := table("note")
	cells := map[string]bool{}
	for _, row := range rows {
		cells[row[3]] = true
	}
	if len(rows) != 3 || !cells["'=1+1"] || !cells["a line,\nand \"another\""] && !cells["a line,\r\nand \"another\""] {
		t.Errorf("the table: %q", rows)
	}
	copied, err := os.ReadFile(filepath.Join(out, k.Studio+".evenpull"))
	must(t, err)
	lines := strings.SplitAfter(strings.TrimSuffix(string(copied), "\n"), "\n")
	foot := len(lines) - 1
	if want := fmt.Sprintf(`{"sha256":"%x"}`, sha256.Sum256([]byte(strings.Join(lines[:foot], "")))); lines[foot] != want {
		t.Errorf("the foot is %s; want %s", lines[foot], want)
	}
	wantSub(t, "can't be made", false, "export", out, "--data", data)
}
