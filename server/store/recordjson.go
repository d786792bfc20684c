package store

import (
	"encoding/hex"
	"maps"
	"slices"
	"strconv"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// appendJSON writes a record as it travels: fields in order, entries as they
// stand. By hand, because ten thousand of them pass in one answer.
func appendJSON(b []byte, r *merge.Record) []byte {
	b = append(append(b, `{"kind":"`...), r.Kind...)
	b = append(hex.AppendEncode(append(b, `","id":"`...), r.ID[:]), `","fields":{`...)
	for i, name := range slices.Sorted(maps.Keys(r.Fields)) {
		f := r.Fields[name]
		if i > 0 {
			b = append(b, ',')
		}
		b = append(append(append(b, '"'), name...), `":{"live":[`...)
		for j, v := range f.Live {
			if j > 0 {
				b = append(b, ',')
			}
			b = appendDot(append(b, `{"dot":`...), v.Dot)
			b = strconv.AppendInt(append(b, `,"at":[`...), v.At.MS, 10)
			b = strconv.AppendUint(append(b, ','), uint64(v.At.Count), 10)
			b = append(append(append(b, `],"by":"`...), v.By...), '"')
			if v.Value != nil {
				b = append(append(b, `,"value":`...), v.Value...)
			}
			b = append(b, '}')
		}
		b = append(b, ']')
		for j, d := range f.Dead {
			if j == 0 {
				b = append(b, `,"dead":[`...)
			} else {
				b = append(b, ',')
			}
			b = appendDot(b, d)
		}
		if len(f.Dead) > 0 {
			b = append(b, ']')
		}
		b = append(b, '}')
	}
	return append(b, '}', '}')
}

func appendDot(b []byte, d ops.Dot) []byte {
	b = hex.AppendEncode(append(b, '"'), d.Replica[:])
	return append(strconv.AppendUint(append(b, ':'), d.N, 10), '"')
}
