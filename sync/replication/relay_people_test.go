package replication_test

import (
	"testing"

	"evenpull/sync/merge"
	"evenpull/sync/replication"
)

// What a server wrote of people goes up with the hub that may bring it; from
// whoever may only write it stays a void.
func TestAHubBringsWhatServersWrite(t *testing.T) {
	for name, may := range map[string]replication.Rights{"hub": {Write: true, Purge: true, Servers: true}, "phone": {Write: true, Purge: true}} {
		r := newRelay(t)
		own := newWriter(t, id(1)) // the hub's own replica
		own.write("role", 2, "role", "operator")
		r.may = replication.Rights{Write: true, Servers: true}
		r.answer(r.hub, own.request(1, 1))
		r.may = may
		r.carry(2)
		_, void := r.up.Void(dot(id(1), 1))
		rec := r.up.Records[merge.Key{Kind: "role", ID: id(2)}]
		there := rec != nil && len(rec.Fields) > 0
		if bring := name == "hub"; there != bring || void == bring {
			t.Errorf("from a %s: there %v, a void %v", name, there, void)
		}
	}
}
