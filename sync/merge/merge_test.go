package merge

import (
	"encoding/json"
	"reflect"
	"testing"

	"evenpull/sync/ops"
	"evenpull/sync/vectors"
)

type mergeCase struct {
	Name, Do string
	Start    map[string]*Field
	C        ops.Vector
	Voids    []Void
	Purged   []ops.Dot
	Revived  [][2]string
	Op       string
	Theirs   *struct {
		Fields map[string]*Field
		C      ops.Vector
	}
	Void *Void
	Dots []ops.Dot
	Fork *Fork
	Want json.RawMessage
}

const anID = "0123456789abcdef0123456789abcdef"

// context is the copy around the record.
func (c mergeCase) context() *State {
	s := NewState()
	s.C = c.C
	for _, v := range c.Voids {
		s.Voids[v.Dot] = v
	}
	for _, d := range c.Purged {
		s.purged[d] = true
	}
	for _, r := range c.Revived {
		s.revived[r[0]+"/"+r[1]] = true
	}
	return s
}

func record(t *testing.T, fields map[string]*Field) *Record {
	t.Helper()
	id, err := ops.ParseID(anID)
	if err != nil {
		t.Fatal(err)
	}
	if fields == nil {
		fields = map[string]*Field{}
	}
	return &Record{Kind: "note", ID: id, Fields: fields}
}

func TestMergeVectors(t *testing.T) {
	for _, c := range vectors.Load[mergeCase](t, "merge") {
		t.Run(c.Name, func(t *testing.T) {
			r, ctx := record(t, c.Start), c.context()
			switch c.Do {
			case "apply":
				op, err := ops.Parse([]byte(c.Op))
				if err != nil {
					t.Fatal(err)
				}
				Apply(r, op, ctx)
			case "take":
				Take(r, record(t, c.Theirs.Fields), c.Theirs.C, ctx)
			case "void":
				ctx.Voids[c.Void.Dot] = *c.Void
				TakeVoid(r, *c.Void, ctx)
			case "purge":
				dots := map[ops.Dot]bool{}
				for _, d := range c.Dots {
					dots[d] = true
				}
				Purge(r, dots)
			case "rename":
				c.Fork.Rename(r)
			case "hidden":
				var want bool
				if err := json.Unmarshal(c.Want, &want); err != nil {
					t.Fatal(err)
				}
				if got := r.Hidden(); got != want {
					t.Errorf("hidden %v; want %v", got, want)
				}
				return
			case "undone":
				var want map[string][]ops.Dot
				if err := json.Unmarshal(c.Want, &want); err != nil {
					t.Fatal(err)
				}
				if got := Undone(r, *c.Void, ctx); !reflect.DeepEqual(got, want) {
					t.Errorf("undone %v; want %v", got, want)
				}
				return
			default:
				t.Fatalf("do %q", c.Do)
			}
			var want map[string]*Field
			if err := json.Unmarshal(c.Want, &want); err != nil {
				t.Fatal(err)
			}
			if got := full(r); !Equal(got, full(record(t, want))) {
				b, _ := json.Marshal(got.Fields)
				t.Errorf("got  %s\nwant %s", b, c.Want)
			}
		})
	}
}

// full leaves out fields that hold nothing.
func full(r *Record) *Record {
	for name, f := range r.Fields {
		if len(f.Live) == 0 && len(f.Dead) == 0 {
			delete(r.Fields, name)
		}
	}
	return r
}
