package store

import (
	"bytes"
	"encoding/binary"
	"encoding/hex"
	"maps"
	"slices"

	"evenpull/sync/clock"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// A recordBlock holds records in the order of their last change. One that
// changes again stands in a later block; in the earlier one it is dead.
type recordBlock struct {
	key     []byte // in the table: at or before its first entry
	entries []entry
	dead    []byte // a bit for each entry
	gone    int    // bytes of dead entries
	size    int    // bytes of all
	touched bool
}

// An entry is one record as it was at its last change.
type entry struct {
	seq  uint64
	k    merge.Key
	name []byte // kind, 0, id
	raw  []byte // appendRecord
}

func (e entry) compare(seq uint64, name []byte) int {
	if e.seq != seq {
		if e.seq < seq {
			return -1
		}
		return 1
	}
	return bytes.Compare(e.name, name)
}

func (e entry) size() int { return len(e.raw) + len(e.name) + 6 }

// A row of a block: the last sequence number, how many entries and their size,
// and the packed entries.
func encodeBlock(p *blocks, entries []entry) []byte {
	size := 0
	for _, e := range entries {
		size += e.size()
	}
	plain := make([]byte, 0, size)
	last := uint64(0)
	for _, e := range entries {
		plain = binary.AppendUvarint(plain, e.seq-last)
		plain = appendPart(plain, []byte(e.k.Kind))
		plain = append(plain, e.k.ID[:]...)
		plain = appendPart(plain, e.raw)
		last = e.seq
	}
	out := binary.AppendUvarint(nil, last)
	out = binary.AppendUvarint(out, uint64(len(entries)))
	out = binary.AppendUvarint(out, uint64(size))
	return p.pack(p.quick, out, plain)
}

func blockHead(raw []byte) (last, count, size uint64, rest []byte) {
	s := scan{tRecords, raw}
	return s.num(), s.num(), s.num(), s.b
}

// readBlock decodes a row; dead is the row of the table of dead entries, or nil.
func readBlock(p *blocks, key, raw, dead []byte) *recordBlock {
	_, count, size, rest := blockHead(raw)
	b := &recordBlock{key: bytes.Clone(key), size: int(size), dead: make([]byte, (count+7)/8), entries: make([]entry, 0, count)}
	copy(b.dead, dead)
	s := scan{tRecords, p.unpack(tRecords, rest)}
	last := uint64(0)
	for i := range int(count) {
		last += s.num()
		kind := string(s.part())
		e := entry{seq: last, k: merge.Key{Kind: kind, ID: ops.ID(s.take(16))}, raw: s.part()}
		e.name = recordName(kind, e.k.ID)
		b.entries = append(b.entries, e)
		if b.isDead(i) {
			b.gone += e.size()
		}
	}
	return b
}

func (b *recordBlock) isDead(i int) bool { return b.dead[i/8]&(1<<(i%8)) != 0 }

func (b *recordBlock) kill(i int) {
	if !b.isDead(i) {
		b.dead[i/8] |= 1 << (i % 8)
		b.gone += b.entries[i].size()
		b.touched = true
	}
}

// live returns the entries that stand nowhere later.
func (b *recordBlock) live() []entry {
	live := make([]entry, 0, len(b.entries))
	for i, e := range b.entries {
		if !b.isDead(i) {
			live = append(live, e)
		}
	}
	return live
}

func (b *recordBlock) find(seq uint64, name []byte) int {
	i, ok := slices.BinarySearchFunc(b.entries, seq, func(e entry, seq uint64) int { return e.compare(seq, name) })
	if !ok {
		return -1
	}
	return i
}

// What stands before a live value.
const (
	sameWriter = 1 << iota // replica and person of the value before
	hasPerson
	hasValue
)

// appendRecord writes a record: fields in order, and of each the live values and
// the dead dots as they stand.
func appendRecord(b []byte, r *merge.Record) []byte {
	b = binary.AppendUvarint(b, uint64(len(r.Fields)))
	var last merge.Value
	for _, name := range slices.Sorted(maps.Keys(r.Fields)) {
		f := r.Fields[name]
		b = appendPart(b, []byte(name))
		b = binary.AppendUvarint(b, uint64(len(f.Live)))
		for _, v := range f.Live {
			flags := byte(0)
			if v.Dot.Replica == last.Dot.Replica && v.By == last.By && last.Dot.N > 0 {
				flags |= sameWriter
			} else if v.By != "" {
				flags |= hasPerson
			}
			if v.Value != nil {
				flags |= hasValue
			}
			b = append(b, flags)
			if flags&sameWriter == 0 {
				b = append(b, v.Dot.Replica[:]...)
			}
			if flags&hasPerson != 0 {
				by, _ := hex.DecodeString(v.By) // 32 digits: checked where it came in
				b = append(b, by[:16]...)
			}
			b = binary.AppendUvarint(b, v.Dot.N)
			b = binary.AppendUvarint(b, uint64(v.At.MS))
			b = binary.AppendUvarint(b, uint64(v.At.Count))
			if flags&hasValue != 0 {
				b = appendPart(b, v.Value)
			}
			last = v
		}
		b = binary.AppendUvarint(b, uint64(len(f.Dead)))
		for _, d := range f.Dead {
			b = binary.AppendUvarint(append(b, d.Replica[:]...), d.N)
		}
	}
	return b
}

// readRecord reads what appendRecord wrote; values keep raw's bytes.
func readRecord(k merge.Key, raw []byte) *merge.Record {
	s := scan{tRecords, raw}
	fields := s.num()
	r := &merge.Record{Kind: k.Kind, ID: k.ID, Fields: make(map[string]*merge.Field, fields)}
	held := make([]merge.Field, fields)
	var last merge.Value
	for i := range held {
		f := &held[i]
		r.Fields[string(s.part())] = f
		live := s.num()
		f.Live = make([]merge.Value, live)
		for j := range f.Live {
			v := &f.Live[j]
			flags := s.take(1)[0]
			if flags&sameWriter != 0 {
				v.Dot.Replica, v.By = last.Dot.Replica, last.By
			} else {
				v.Dot.Replica = ops.ID(s.take(16))
			}
			if flags&hasPerson != 0 {
				v.By = hex.EncodeToString(s.take(16))
			}
			v.Dot.N = s.num()
			v.At = clock.Stamp{MS: int64(s.num()), Count: uint16(s.num())}
			if flags&hasValue != 0 {
				v.Value = s.part()
			}
			last = *v
		}
		for range s.num() {
			f.Dead = append(f.Dead, ops.Dot{Replica: ops.ID(s.take(16)), N: s.num()})
		}
	}
	return r
}
