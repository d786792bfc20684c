package replication

import (
	"encoding/json"

	"evenpull/sync/clock"
	"evenpull/sync/ops"
)

// Now returns the name of today of a dot that the logged op names.
func (l Logged) Now(d ops.Dot) ops.Dot {
	for _, k := range l.Renamed {
		d = k.dot(d)
	}
	return d
}

// A Written is one value as it was written into a field.
type Written struct {
	Field string          `json:"field"`
	Dot   ops.Dot         `json:"dot"`
	At    clock.Stamp     `json:"at"`
	By    string          `json:"by"`
	Value json.RawMessage `json:"value"`
	Live  bool            `json:"live"` // it stands; else another replaced it
}
