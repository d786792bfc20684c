package store

import (
	"bytes"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"testing"
)

// Both engines are played against a plain map, with many reads between the
// writes of one transaction: also where all of a table is dropped and looked
// through before the transaction ends.
func TestEnginesReadTheirOwnWrites(t *testing.T) {
	bolt, err := openBolt(filepath.Join(t.TempDir(), "db"))
	if err != nil {
		t.Fatal(err)
	}
	defer bolt.close()
	for name, e := range map[string]engine{"bbolt": bolt, "memory": &memEngine{tables: map[string][]row{}}} {
		r := rand.New(rand.NewPCG(5, 5))
		model := map[string]string{}
		keyOf := func() []byte { return fmt.Appendf(nil, "key %03d", r.IntN(300)) }
		check := func(rows rows) error {
			var sorted []string
			for k, v := range rows.scan("t", nil) {
				if model[string(k)] != string(v) {
					return fmt.Errorf("%s is %.20q; want %.20q", k, v, model[string(k)])
				}
				sorted = append(sorted, string(k))
			}
			if len(sorted) != len(model) {
				return fmt.Errorf("%d rows; want %d", len(sorted), len(model))
			}
			for range 20 {
				key := keyOf()
				want := ""
				for _, k := range sorted {
					if k <= string(key) {
						want = k
					}
				}
				if k, v := rows.floor("t", key); string(k) != want || string(v) != model[want] {
					return fmt.Errorf("at or before %s is %q; want %q", key, k, want)
				}
				if got := rows.get("t", key); string(got) != model[string(key)] {
					return fmt.Errorf("%s is %.20q; want %.20q", key, got, model[string(key)])
				}
			}
			return nil
		}
		for round := range 60 {
			if err := e.update(func(rows rows) error {
				for step := range 200 {
					switch key := keyOf(); {
					case round%10 == 9 && step > 150: // drop all there is, one after the other
						for k := range model {
							rows.drop("t", []byte(k))
							delete(model, k)
						}
					case r.IntN(3) == 0:
						rows.drop("t", key)
						delete(model, string(key))
					default:
						value := bytes.Repeat([]byte{byte('a' + step%26)}, r.IntN(900)+1)
						rows.put("t", key, value)
						model[string(key)] = string(value)
					}
					if step%20 == 0 || step > 195 {
						if err := check(rows); err != nil {
							return err
						}
					}
				}
				return nil
			}); err != nil {
				t.Fatalf("%s, round %d: %v", name, round, err)
			}
			if err := e.view(check); err != nil {
				t.Fatalf("%s after round %d: %v", name, round, err)
			}
		}
	}
}
