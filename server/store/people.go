package store

import (
	"crypto/rand"
	"encoding/base64"
	"encoding/binary"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"

	"evenpull/server/account"
	"evenpull/sync/clock"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

var _ account.Tx = (*tx)(nil)

func (t *tx) Studios() []account.Studio {
	return all[account.Studio](t.rows.scan(tStudios, nil), tStudios)
}

func (t *tx) Studio(id ops.ID) (account.Studio, bool) {
	for _, s := range t.Studios() {
		if s.ID == id {
			return s, true
		}
	}
	return account.Studio{}, false
}

func (t *tx) AddStudio(s account.Studio) {
	putJSON(t.rows, tStudios, num(uint64(len(t.Studios()))), s)
}

func (t *tx) Phone(id ops.ID) (p account.Phone, ok bool) {
	ok = getJSON(t.rows, tPhones, id[:], &p)
	return p, ok
}

func (t *tx) PutPhone(p account.Phone) { putJSON(t.rows, tPhones, key(p.ID[:]), p) }

func (t *tx) Seat(studio, phone ops.ID) (s account.Seat, ok bool) {
	ok = getJSON(t.rows, tSeats, key(studio[:], phone[:]), &s)
	return s, ok
}

func (t *tx) Seats(studio ops.ID) []account.Seat {
	return all[account.Seat](under(t.rows, tSeats, studio[:], nil), tSeats)
}

func (t *tx) PutSeat(studio ops.ID, s account.Seat) {
	putJSON(t.rows, tSeats, key(studio[:], s.Phone[:]), s)
}

func (t *tx) Member(studio, person ops.ID) (m account.Member, ok bool) {
	ok = getJSON(t.rows, tMembers, key(studio[:], person[:]), &m)
	return m, ok
}

func (t *tx) Members(studio ops.ID) []account.Member {
	return all[account.Member](under(t.rows, tMembers, studio[:], nil), tMembers)
}

func (t *tx) PutMember(studio ops.ID, m account.Member) {
	putJSON(t.rows, tMembers, key(studio[:], m.Person[:]), m)
}

// Invite finds an invite in the tables, or one that the server's own shell laid
// into the data folder: whoever can write there holds the server anyway, and the
// store is locked while the server runs.
func (t *tx) Invite(h account.Hash) (i account.Invite, ok bool) {
	if getJSON(t.rows, tInvites, h[:], &i) {
		return i, true
	}
	if t.s.folder == "" {
		return i, false
	}
	raw, err := os.ReadFile(inviteFile(t.s.folder, h))
	if err != nil || json.Unmarshal(raw, &i) != nil || i.Hash != h {
		return account.Invite{}, false
	}
	return i, true
}

func inviteFile(folder string, h account.Hash) string {
	return filepath.Join(folder, "invites", h.String()+".json")
}

// LayInvite leaves an invite in the data folder for the server that runs on it, now or later.
func LayInvite(folder string, i account.Invite) error {
	name := inviteFile(folder, i.Hash)
	if err := os.MkdirAll(filepath.Dir(name), 0o700); err != nil {
		return err
	}
	raw, err := json.Marshal(i)
	if err != nil {
		return err
	}
	return os.WriteFile(name, raw, 0o600)
}

func (t *tx) Invites() []account.Invite {
	return all[account.Invite](t.rows.scan(tInvites, nil), tInvites)
}

func (t *tx) PutInvite(i account.Invite) { putJSON(t.rows, tInvites, key(i.Hash[:]), i) }
func (t *tx) DropInvite(h account.Hash)  { t.rows.drop(tInvites, h[:]) }

func (t *tx) Rolled(studio ops.ID) bool {
	roll := account.RollOf(studio)
	return t.copies[roll] != nil && t.copies[roll].moved || t.rows.get(tHeads, roll[:]) != nil
}

// Roll reads what the servers of a studio say of its people.
func (t *tx) Roll(studio ops.ID) account.Roll {
	roll := account.Roll{Phones: map[ops.ID]account.Told{}, Roles: map[ops.ID]account.Role{}, Ended: map[ops.ID]bool{}}
	c := t.copy(account.RollOf(studio))
	c.flush()
	for e := range c.entries(0) {
		switch r := readRecord(e.k, e.raw); r.Kind {
		case "role":
			for _, v := range liveOf[account.Role](r, "role") {
				if had, ok := roll.Roles[r.ID]; !ok || v.Less(had) {
					roll.Roles[r.ID] = v
				}
			}
		case "phone":
			person, key, hub := liveOf[ops.ID](r, "person"), liveOf[string](r, "key"), liveOf[bool](r, "hub")
			if len(person) == 0 || len(key) == 0 {
				continue
			}
			raw, err := base64.RawURLEncoding.DecodeString(key[0])
			if err == nil {
				roll.Phones[r.ID] = account.Told{Person: person[0], Key: raw, Hub: len(hub) > 0 && hub[0]}
			}
		case "ending":
			roll.Ended[r.ID] = !r.Hidden()
		}
	}
	return roll
}

// liveOf returns what stands in a field, the newest first, as far as it can be read.
func liveOf[T any](r *merge.Record, field string) (list []T) {
	f := r.Fields[field]
	if f == nil {
		return nil
	}
	for _, live := range f.Live {
		var v T
		if json.Unmarshal(live.Value, &v) == nil {
			list = append(list, v)
		}
	}
	return list
}

func (t *tx) Note(studio ops.ID, d account.Deed) {
	order := uint64(0)
	if k, _ := atOrBefore(t.rows, tDeeds, studio[:], num(1<<63)); k != nil {
		order = binary.BigEndian.Uint64(k[16:]) + 1
	}
	putJSON(t.rows, tDeeds, key(studio[:], num(order)), d)
}

func (t *tx) Deeds(studio ops.ID, most int) []account.Deed {
	from := uint64(0)
	if k, _ := atOrBefore(t.rows, tDeeds, studio[:], num(1<<63)); k != nil {
		from = uint64(max(0, int64(binary.BigEndian.Uint64(k[16:]))+1-int64(most)))
	}
	list := all[account.Deed](under(t.rows, tDeeds, studio[:], num(from)), tDeeds)
	slices.Reverse(list)
	return list
}

// A writer is the server's own replica in one studio. It is a fresh one in each
// run: after a restore nobody can have seen other ops under its name.
type writer struct {
	replica ops.ID
	clock   clock.Clock
}

func (t *tx) writer(studio ops.ID) *writer {
	w := t.s.own[studio]
	if w == nil {
		w = &writer{}
		rand.Read(w.replica[:])
		t.s.own[studio] = w
	}
	return w
}

// ownFor is the server's own replica where a request needs it: with a hand-back,
// which is judged in a write. Reads come side by side and must make no writer.
func (t *tx) ownFor(req *replication.Request, studio ops.ID) ops.ID {
	if req.Back == nil {
		return ops.ID{}
	}
	return t.writer(studio).replica
}

// Write makes an op of the server's own replica.
func (t *tx) Write(studio, by ops.ID, kind string, id ops.ID, set map[string]any) error {
	c, w := t.copy(studio), t.writer(studio)
	r := c.Record(kind, id)
	now := t.s.now().UnixMilli()
	values, over := map[string]json.RawMessage{}, map[string][]ops.Dot{}
	if r.Fields["zone"] == nil && set[merge.FieldRemoved] == nil { // a removal adds nothing that it has not seen
		set["zone"] = 0 // servers write UTC
	}
	for name, v := range set {
		value, err := ops.Canonical(v)
		if err != nil {
			return err
		}
		values[name] = value
		if f := r.Fields[name]; f != nil {
			for _, old := range f.Live {
				over[name] = append(over[name], old.Dot)
				w.clock, _ = w.clock.Seen(old.At, now)
			}
		}
	}
	at, next := w.clock.Next(now)
	n := c.Vector()[w.replica].N
	prev, _ := c.Chain(w.replica)
	op, err := ops.Encode(ops.Op{Replica: w.replica, N: n + 1, At: at, By: by.String(), Kind: kind, ID: id, Set: values, Over: over})
	if err != nil {
		return err
	}
	w.clock = next
	merge.Apply(r, op, c)
	c.Append(op.Dot(), replication.Logged{Op: op.Bytes(), Chain: ops.Chain(prev, op.Bytes())})
	c.Put(r)
	return nil
}

// Remove hides a record as it is now; a later write to it shows it again.
func (t *tx) Remove(studio, by ops.ID, kind string, id ops.ID) error {
	seen := []ops.Dot{}
	for name, f := range t.copy(studio).Record(kind, id).Fields {
		for _, v := range f.Live {
			if name != merge.FieldRemoved {
				seen = append(seen, v.Dot)
			}
		}
	}
	return t.Write(studio, by, kind, id, map[string]any{merge.FieldRemoved: map[string]any{"seen": seen}})
}
