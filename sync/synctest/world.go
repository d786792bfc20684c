package synctest

import (
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"slices"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// Counts says how often each hazard happened, so that a run that met none can't pass for a proof.
type Counts struct {
	Years, Writes, Concurrent, Removals, Purges, Voids, Malformed, NoRight, Forks, Clones, ClonesApart, Restores, Silent, Cuts, Drops, Repeats, HandBacks, Full, PurgesOver int
}

// Add sums two runs.
func (c *Counts) Add(o Counts) {
	c.Writes += o.Writes
	c.Years += o.Years
	c.Concurrent += o.Concurrent
	c.Removals += o.Removals
	c.Purges += o.Purges
	c.Voids += o.Voids
	c.Malformed += o.Malformed
	c.NoRight += o.NoRight
	c.Forks += o.Forks
	c.ClonesApart += o.ClonesApart
	c.Clones += o.Clones
	c.Restores += o.Restores
	c.Silent += o.Silent
	c.Cuts += o.Cuts
	c.Drops += o.Drops
	c.Repeats += o.Repeats
	c.HandBacks += o.HandBacks
	c.Full += o.Full
	c.PurgesOver += o.PurgesOver
}

// A phone and the server it is near.
type phone struct {
	*replication.Phone
	near  int
	may   bool
	keeps bool         // a keeper's: the only ones that purge
	wall  int64        // the latest that its own clock ever showed
	late  func() error // an answer that comes again later
	gone  bool         // it never comes back
}

// A World is a few phones, an upstream and a hub below it.
type World struct {
	R       *rand.Rand
	Counts  Counts
	phones  []*phone
	servers [2]*Server // 0 is upstream, 1 carries to it
	backups [2]*Server
	up      replication.Upstream
	now     int64
	written map[string][]string // value → the values its writer saw and replaced
	purged  map[string]bool
	beside  map[[2]ops.Dot]bool // values met side by side
	refused map[string]bool     // values of malformed ops, which replace nothing by themselves
	taken   map[string]bool     // of those, which a server took all the same: renamed, they are spelled anew
	records []ops.ID
	trace   func(format string, a ...any)
	met     func()          // called once the first phones are there
	calm    map[string]bool // hazards left out, to find which one breaks a seed
	told    []string        // what was done, a line each, as a script says it
	ids     []ops.ID        // fresh ids that were taken; a script's are still to be taken
	line    *line           // of a script that is played, in the place of chance
	parsed  map[reading]ops.Op
	slips   map[string]ops.Op // bytes that no server takes, and what their writer meant
	lax     map[string]bool   // of those, which a hub took that did not know better
	real    map[string]bool   // their values
	voided  map[ops.Dot]bool
	purges  []ops.ID         // purges that were written
	born    map[string]int64 // value → when it was written
	ahead   int64            // ms that full counts moved stamps ahead
	looked  [2]string        // where each server stood when it was last compared with its log
}

func (w *World) may(hazard string) bool { return !w.calm[hazard] }

// NewWorld returns a world that a seed alone decides.
func NewWorld(seed uint64, calm ...string) *World {
	w := newWorld(seed, calm...)
	w.people(3 + w.R.IntN(3))
	return w
}

func newWorld(seed uint64, calm ...string) *World {
	w := &World{R: rand.New(rand.NewPCG(seed, 7)), now: 1_000_000, written: map[string][]string{}, purged: map[string]bool{}, beside: map[[2]ops.Dot]bool{}, refused: map[string]bool{}, taken: map[string]bool{}, parsed: map[reading]ops.Op{},
		slips: map[string]ops.Op{}, lax: map[string]bool{}, real: map[string]bool{}, voided: map[ops.Dot]bool{}, born: map[string]int64{}}
	w.calm = map[string]bool{}
	for _, hazard := range calm {
		w.calm[hazard] = true
	}
	w.servers = [2]*Server{NewServer("up", "u0"), NewServer("hub", "h0")}
	return w
}

func (w *World) people(phones int) {
	w.told = append(w.told, fmt.Sprintf("world phones=%d hub=%d", phones, boolInt(w.may("hub"))))
	for i := range phones {
		w.phones = append(w.phones, &phone{Phone: replication.NewPhone("", w.id), near: i % 2 * boolInt(w.may("hub")), may: true, keeps: i == 0})
	}
	for range 3 {
		w.records = append(w.records, w.id())
	}
	if w.met != nil {
		w.met()
	}
}

// id returns a fresh id, by chance or, while a script lasts, the one it names.
func (w *World) id() (id ops.ID) {
	if w.line != nil {
		if len(w.ids) == 0 {
			panic("the script has no more ids")
		}
		id, w.ids = w.ids[0], w.ids[1:]
		return id
	}
	for i := range id {
		id[i] = byte(w.R.UintN(256))
	}
	w.ids = append(w.ids, id)
	return id
}

// choose returns a number below n, by chance or as the script says.
func (w *World) choose(name string, n int) int {
	if w.line != nil {
		return w.line.number(name, n)
	}
	v := w.R.IntN(n)
	w.tell(fmt.Sprintf("%s=%d", name, v))
	return v
}

// chance reports one time in n, or what the script says.
func (w *World) chance(name string, n int) bool {
	if w.line != nil {
		return w.line.flag(name)
	}
	if w.R.IntN(n) > 0 {
		return false
	}
	w.tell(name)
	return true
}

func (w *World) tell(word string) {
	if last := len(w.told) - 1; w.told[last] != "heal" { // healing is the same whatever was done
		w.told[last] += " " + word
	}
}

// Run plays steps of everything at random, then heals and checks.
func (w *World) Run(steps int) error {
	for range steps {
		wait, who := w.R.IntN(2000), w.R.IntN(len(w.phones))
		verb := w.verb(w.R.IntN(100))
		w.told = append(w.told, fmt.Sprintf("%s phone=%d wait=%d", verb, who, wait))
		if err := w.act(verb, who, wait); err != nil {
			return err
		}
	}
	w.told = append(w.told, "heal")
	return w.heal()
}

// verb says what happens at x of 100.
func (w *World) verb(x int) string {
	switch {
	case x < 40:
		return "write"
	case x < 70:
		return "exchange"
	case x < 82 && w.may("hub"):
		return "relay"
	case x < 84 && w.may("roam"):
		return "roam"
	case x < 86 && len(w.phones) < 8 && w.may("clone") && w.Counts.Silent == 0:
		return "clone"
	case x < 88:
		return "backup"
	case x < 89 && w.may("restore"):
		return "restore"
	case x < 91 && w.may("right"):
		return "right"
	case x < 93 && w.may("void"):
		return "refused"
	case x < 95 && w.may("purge"):
		return "purge"
	case x < 97 && w.may("remove"):
		return "remove"
	case x >= 97:
		return "again"
	}
	return "nothing"
}

// act does one thing, and looks at what the servers then hold.
func (w *World) act(verb string, who, wait int) error {
	if err := w.do(verb, who, wait); err != nil {
		return err
	}
	return w.look()
}

// do does one thing: verb is one of World.verb, who a phone.
func (w *World) do(verb string, who, wait int) error {
	w.now += int64(wait)
	p := w.phones[who]
	switch verb {
	case "write":
		return w.write(p)
	case "exchange":
		return w.exchange(p, true)
	case "relay":
		return w.relay(true)
	case "roam":
		p.near = 1 - p.near
	case "clone":
		w.Counts.Clones++
		near := w.choose("near", 2) * boolInt(w.may("hub"))
		if near != p.near {
			w.Counts.ClonesApart++
		}
		w.phones = append(w.phones, &phone{Phone: p.Clone(), near: near, may: p.may, keeps: p.keeps, wall: p.wall})
	case "backup":
		i := w.choose("server", 2)
		w.backups[i] = w.servers[i].Backup()
	case "restore":
		w.restore(w.choose("server", 2))
	case "right":
		p.may = !p.may
	case "refused":
		return w.refusedWrite(p)
	case "purge":
		if w.may("stranger") && w.chance("stranger", 4) { // somebody who may not
			return w.purge(p)
		}
		return w.purge(w.phones[0])
	case "remove":
		return w.remove(p)
	case "again":
		if p.late != nil {
			w.Counts.Repeats++
			late := p.late
			p.late = nil
			return late()
		}
	case "gone": // of scripts only
		p.gone = true
	case "nothing":
	default:
		return fmt.Errorf("nothing is called %q", verb)
	}
	return nil
}

const years = 5 * 365 * 24 * 3_600_000 // ms

func (w *World) write(p *phone) error {
	id, field := w.records[w.choose("record", len(w.records))], string(rune('a'+w.choose("field", 2)))
	value := fmt.Sprintf("v%d <&>\u2028", len(w.written))
	var saw []string
	kind := "note"
	if w.line != nil && w.chance("novel", 1) { // of scripts only: a kind that no program here knows
		kind = "novelty"
	}
	if f := p.Shown(kind, id).Fields[field]; f != nil {
		for _, v := range f.Live {
			saw = append(saw, string(v.Value))
		}
	}
	text := ops.String(value)
	at := w.now + int64(w.choose("clock", 7_200_000)) - 3_600_000
	if w.may("years") && w.chance("ahead", 40) { // a clock that somebody set wrong
		at += years
		w.Counts.Years++
	} else if w.may("years") && w.chance("behind", 40) {
		at = 0
		w.Counts.Years++
	}
	_, err := w.put(p, kind, id, map[string]json.RawMessage{field: text}, at)
	w.written[string(text)] = saw
	w.Counts.Writes++
	if err == nil && p.Shown(kind, id).Hidden() {
		return fmt.Errorf("%s was written to a record that stays removed", text)
	}
	return err
}

// refusedWrite makes an op that no server takes, ever: of a kind that only
// servers write, or one that replaces what is shown and is spelled wrong.
func (w *World) refusedWrite(p *phone) error {
	person := !w.may("malformed")
	if person {
		w.tell("person")
	}
	if person || w.chance("person", 2) {
		value := ops.String(fmt.Sprintf("v%d", len(w.written)))
		w.written[string(value)] = nil
		_, err := w.put(p, "person", w.records[0], map[string]json.RawMessage{"name": value}, w.now)
		return err
	}
	if w.may("slips") && w.chance("purge", 3) {
		return w.purgeOver(p)
	}
	if err := w.write(p); err != nil {
		return err
	}
	spell := slips[0]
	if w.may("slips") && w.chance("other", 2) {
		spell = slips[w.choose("slip", len(slips))]
	}
	w.slip(p, spell)
	return nil
}

func (w *World) purge(p *phone) error {
	id := w.records[w.choose("record", len(w.records))]
	f := p.Shown("note", id).Fields["a"]
	if f == nil || len(f.Live) == 0 || f.Live[0].Value == nil || !p.Base.Has(f.Live[0].Dot) {
		return nil
	}
	v := f.Live[0]
	w.purged[string(v.Value)] = true
	w.Counts.Purges++
	dots, err := ops.Canonical([]ops.Dot{v.Dot})
	if err != nil {
		return err
	}
	to := w.id()
	w.purges = append(w.purges, to)
	_, err = w.put(p, merge.KindPurge, to, map[string]json.RawMessage{merge.FieldDots: dots}, w.now)
	return err
}

// purgeOver writes a purge in the place of one that the phone shows, if it shows one: no server
// takes that, and what the second names stays.
func (w *World) purgeOver(p *phone) error {
	for _, id := range w.purges {
		for _, f := range p.Shown(merge.KindPurge, id).Fields {
			dots, err := ops.Canonical([]ops.Dot{f.Live[0].Dot})
			if err != nil {
				return err
			}
			op, err := w.put(p, merge.KindPurge, id, map[string]json.RawMessage{merge.FieldDots: dots}, w.now)
			w.slips[string(op.Bytes())] = op
			w.Counts.PurgesOver++
			return err
		}
	}
	return nil
}

func (w *World) remove(p *phone) error {
	id := w.records[w.choose("record", len(w.records))]
	seen := []ops.Dot{}
	for name, f := range p.Shown("note", id).Fields {
		for _, v := range f.Live {
			if name != merge.FieldRemoved {
				seen = append(seen, v.Dot)
			}
		}
	}
	slices.SortFunc(seen, ops.Dot.Compare)
	value, err := ops.Canonical(map[string]any{"seen": seen})
	if err != nil {
		return err
	}
	w.Counts.Removals++
	_, err = w.put(p, "note", id, map[string]json.RawMessage{merge.FieldRemoved: value}, w.now)
	if err == nil && !p.Shown("note", id).Hidden() {
		return fmt.Errorf("a record that was removed, with %d values seen, still shows", len(seen))
	}
	return err
}

// restore puts a backup back. It is silent, under the old epoch, only in a world
// without clones: a server that forgot a replica's ops and does not say so can't tell
// a clone that was away meanwhile, and writes on from where they parted, from the
// phone itself. With a new epoch both go on under other names, and nothing is lost.
func (w *World) restore(i int) {
	if w.backups[i] == nil {
		return
	}
	head := w.servers[i].Head()
	if w.backups[i].Head() == head {
		return
	}
	w.say("restore %s from %d to %d", w.servers[i].ID, head, w.backups[i].Head())
	w.servers[i] = w.backups[i].Backup()
	w.Counts.Restores++
	still := w.line != nil && w.chance("still", 1) // of scripts only
	if !still && (!w.chance("silent", 3) || w.Counts.Clones > 0) {
		w.servers[i].Epoch = fmt.Sprint("e", w.id())
	} else {
		w.Counts.Silent++
	}
	if i == 1 { // what the hub knew of its upstream went with its disk
		w.up = replication.Upstream{}
	}
}

func boolInt(b bool) int {
	if b {
		return 1
	}
	return 0
}
