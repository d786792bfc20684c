package store

import (
	"bytes"
	"compress/gzip"
	"encoding/binary"
	"encoding/json"
	"io"
	"os"
	"path/filepath"
	"reflect"
	"slices"
	"strings"
	"testing"
	"time"

	"evenpull/server/account"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// released is a store as an earlier version left it, with what that version
// answered. Such a pair is made once, by the program of its day.
type released struct {
	Server, Epoch         string
	Studio, Keeper, Guest ops.ID
	Fresh                 *replication.Answer    // to a phone that knows nothing
	Requests              []*replication.Request // that were taken
	Links                 []string               // of the log, from sequence number 1
	Photo                 string
}

func openReleased(t *testing.T, version string) (*Store, released) {
	t.Helper()
	const golden = "../../testdata/golden/store-"
	var want released
	if err := json.Unmarshal(readFile(t, golden+version+".json"), &want); err != nil {
		t.Fatal(err)
	}
	z, err := gzip.NewReader(bytes.NewReader(readFile(t, golden+version+".db.gz")))
	if err != nil {
		t.Fatal(err)
	}
	db, err := io.ReadAll(z)
	if err != nil {
		t.Fatal(err)
	}
	folder := t.TempDir()
	if err := os.WriteFile(filepath.Join(folder, "evenpull.db"), db, 0o600); err != nil {
		t.Fatal(err)
	}
	photo := filepath.Join(folder, "photos", want.Studio.String()+"-"+want.Photo)
	if err := os.MkdirAll(filepath.Dir(photo), 0o700); err != nil {
		t.Fatal(err)
	}
	if err := os.WriteFile(photo, append([]byte("\xff\xd8\xff\xe0"), bytes.Repeat([]byte{7}, 60)...), 0o600); err != nil {
		t.Fatal(err)
	}
	return opened(t, folder), want
}

// What a server exports is read by the app: client/src/sync/statefile.server.test.ts
// opens the same file.
func TestExportIsTheFileOfPhones(t *testing.T) {
	s, want := openReleased(t, "1")
	s.now = func() time.Time { return time.UnixMilli(1_764_064_800_000) }
	if _, problems := s.Check(); len(problems) != 0 {
		t.Errorf("the released store: %q", problems)
	}
	var out bytes.Buffer
	kinds, err := s.Export(&out, want.Studio)
	if err != nil {
		t.Fatal(err)
	}
	if len(kinds["note"]) == 0 || len(kinds["photo"]) != 1 {
		t.Errorf("kinds: %d notes, %d photos", len(kinds["note"]), len(kinds["photo"]))
	}
	const golden = "../../testdata/golden/server-export.evenpull"
	if os.Getenv("EVENPULL_GOLDEN") == "write" {
		if err := os.WriteFile(golden, out.Bytes(), 0o644); err != nil {
			t.Fatal(err)
		}
	}
	if !bytes.Equal(out.Bytes(), readFile(t, golden)) {
		t.Errorf("the export is another one:\n%s", out.Bytes())
	}
}

// In blocks of a few entries each, as in those of full size, the log of now says
// of each moment what the old one said.
func TestTheLogOfVersion1IsKept(t *testing.T) {
	s, want := openReleased(t, "1")
	copied, err := filepath.Glob(filepath.Join(s.folder, "*version-1-*"))
	if err != nil || len(copied) != 1 {
		t.Fatal(copied, err)
	}
	old, err := openBolt(copied[0])
	if err != nil {
		t.Fatal(err)
	}
	defer old.close()
	type moment struct {
		d  ops.Dot
		at ops.Short
	}
	var log []moment
	if err := old.update(func(r rows) error {
		for _, raw := range under(r, oldLog, want.Studio[:], nil) {
			log = append(log, moment{ops.Dot{Replica: ops.ID(raw[8:24]), N: binary.BigEndian.Uint64(raw[24:])}, ops.Short(raw[32:40])})
		}
		return intoBlocksOf(r, 250, 3)
	}); err != nil {
		t.Fatal(err)
	}
	for name, e := range map[string]engine{"full size": s.engine, "small": old} {
		if err := e.view(func(r rows) error {
			c := s.begin(r).copy(want.Studio)
			v := ops.Vector{}
			for i, m := range log {
				if m.d.N > 0 {
					v[m.d.Replica] = ops.Entry{N: m.d.N, Digest: m.at}
				}
				if got := c.VectorAt(uint64(i + 1)); !reflect.DeepEqual(got, v) {
					t.Fatalf("%s: at %d the log says %v; want %v", name, i+1, got, v)
				}
				if link, ok := c.LinkAt(uint64(i + 1)); !ok || link.String() != want.Links[i] {
					t.Fatalf("%s: link %d is %s, %v; want %s", name, i+1, link, ok, want.Links[i])
				}
				if at, ok := c.DigestAt(m.d); m.d.N > 0 && (!ok || at != m.at) {
					t.Fatalf("%s: digest of %s is %s, %v; want %s", name, m.d, at, ok, m.at)
				}
			}
			return nil
		}); err != nil {
			t.Fatal(err)
		}
	}
}

func TestAStoreOfEachReleaseOpens(t *testing.T) {
	for _, version := range []string{"1"} {
		t.Run(version, func(t *testing.T) {
			s, want := openReleased(t, version)
			if s.Server() != want.Server || s.epoch != want.Epoch {
				t.Error("it is another server now")
			}
			ask := func(phone ops.ID, req *replication.Request) *replication.Answer {
				t.Helper()
				a, err := s.Exchange(t.Context(), want.Studio, phone, req)
				if err != nil {
					t.Fatal(err)
				}
				return a
			}
			got := ask(want.Guest, &replication.Request{Format: ops.Format, Ops: []replication.Element{}})
			if !bytes.Equal(spelled(t, got), spelled(t, want.Fresh)) {
				t.Errorf("a fresh phone reads\n%s\nthe old program said\n%s", spelled(t, got), spelled(t, want.Fresh))
			}
			for seq, link := range want.Links { // a cursor from then is still one of ours
				a := ask(want.Guest, &replication.Request{Format: ops.Format, Server: want.Server, Epoch: want.Epoch, After: uint64(seq + 1),
					AfterDigest: link, Ops: []replication.Element{}})
				if a.Wrong != "" {
					t.Errorf("after %d: wrong %q", seq+1, a.Wrong)
				}
			}
			for i, req := range want.Requests { // sent again: one copy
				req.After, req.AfterDigest, req.Epoch, req.Server = 0, "", "", ""
				a := ask(want.Keeper, req)
				if e := a.Acked[req.Replica]; e != want.Fresh.Have[req.Replica] || a.Reading != want.Fresh.Reading {
					t.Errorf("request %d sent again: %v, %v, head %d", i, e, a.Refused, a.Reading)
				}
				for _, r := range a.Refused {
					if !r.ForGood {
						t.Errorf("request %d sent again: %+v", i, r)
					}
				}
			}
		})
	}
}

// What phones of the first release sent, byte for byte, is taken by a server of
// now that never saw it: it ends where the old server ended.
func TestAServerOfNowTakesWhatThePhonesOfTheReleaseSent(t *testing.T) {
	_, want := openReleased(t, "1")
	s := Memory()
	t.Cleanup(func() { s.Close() })
	if err := s.Accounts(t.Context(), func(tx account.Tx) error {
		tx.AddStudio(account.Studio{ID: want.Studio, Name: "Barn"})
		tx.PutSeat(want.Studio, account.Seat{Phone: want.Keeper, Person: want.Keeper})
		tx.PutMember(want.Studio, account.Member{Person: want.Keeper, Role: account.Keeper})
		return nil
	}); err != nil {
		t.Fatal(err)
	}
	ask := func(req *replication.Request) *replication.Answer {
		t.Helper()
		req.After, req.AfterDigest, req.Epoch, req.Server = 0, "", "", ""
		a, err := s.Exchange(t.Context(), want.Studio, want.Keeper, req)
		if err != nil {
			t.Fatal(err)
		}
		return a
	}
	writers := map[ops.ID]bool{}
	for _, req := range want.Requests {
		ask(req)
		writers[req.Replica] = true
	}
	fresh := ask(&replication.Request{Format: ops.Format, Ops: []replication.Element{}})
	for replica := range writers {
		if fresh.Have[replica] != want.Fresh.Have[replica] {
			t.Errorf("replica %s is at %v; the old server was at %v", replica, fresh.Have[replica], want.Fresh.Have[replica])
		}
	}
	texts := func(a *replication.Answer) (list []string) {
		for _, raw := range a.Records {
			if r := string(raw); !strings.Contains(r, `"kind":"person"`) && !strings.Contains(r, `"kind":"phone"`) && !strings.Contains(r, `"kind":"role"`) && !strings.Contains(r, `"kind":"ending"`) {
				list = append(list, r) // the others the old server wrote itself
			}
		}
		slices.Sort(list)
		return list
	}
	if got, was := texts(fresh), texts(want.Fresh); len(was) == 0 || !slices.Equal(got, was) {
		t.Errorf("a fresh phone reads\n%s\nand read then\n%s", strings.Join(got, "\n"), strings.Join(was, "\n"))
	}
	if !bytes.Equal(spelled(t, fresh.Voids), spelled(t, want.Fresh.Voids)) {
		t.Errorf("voids %s; then %s", spelled(t, fresh.Voids), spelled(t, want.Fresh.Voids))
	}
}

func spelled(t *testing.T, v any) []byte {
	t.Helper()
	raw, err := replication.Marshal(v)
	if err != nil {
		t.Fatal(err)
	}
	return raw
}
