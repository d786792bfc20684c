package synctest

import (
	"fmt"
	"maps"
	"os"
	"slices"
	"strings"

	"evenpull/sync/merge"
	"evenpull/sync/ops"
)

// watch tells, with EVENPULL_WATCH=v57 and a trace, each time that value comes
// to another standing in some copy: live, dead, waiting, known but gone, unknown.
func (w *World) watch(say func(string, ...any)) func(string, ...any) {
	value := os.Getenv("EVENPULL_WATCH")
	if value == "" {
		return say
	}
	last := map[string]string{}
	names := map[string]bool{} // dots that the value ever had
	state := func(s *merge.State) string {
		out := ""
		for _, r := range s.Records {
			for _, f := range r.Fields {
				for _, v := range f.Live {
					if strings.HasPrefix(string(v.Value), `"`+value+" ") || string(v.Value) == `"`+value+`"` {
						names[v.Dot.String()] = true
						out += " live " + v.Dot.String()[:4] + v.Dot.String()[32:]
					}
				}
				for _, d := range f.Dead {
					if names[d.String()] {
						out += " dead " + d.String()[:4] + d.String()[32:]
					}
				}
			}
		}
		for _, d := range slices.Sorted(maps.Keys(names)) {
			if id, err := ops.ParseID(d[:32]); err == nil && s.C[id].N > 0 {
				out += fmt.Sprintf(" C %s:%d", d[:4], s.C[id].N)
			}
		}
		return out
	}
	look := func() {
		copies := map[string]string{}
		for i, s := range w.servers {
			copies[fmt.Sprint("server ", i)] = state(s.State)
		}
		for i, p := range w.phones {
			out := state(p.Base)
			for _, o := range p.Outbox {
				for _, v := range o.Op.Set {
					if strings.HasPrefix(string(v), `"`+value+" ") {
						names[o.Op.Dot().String()] = true
						out += fmt.Sprintf(" waits as %.4s:%d", o.Op.Replica, o.Op.N)
					}
				}
				for _, dots := range o.Op.Over {
					for _, d := range dots {
						if names[d.String()] {
							out += fmt.Sprintf(" named by %.4s:%d", o.Op.Replica, o.Op.N)
						}
					}
				}
			}
			copies[fmt.Sprint("phone ", i)] = out
		}
		for _, name := range slices.Sorted(maps.Keys(copies)) {
			now := copies[name]
			if now != last[name] && len(names) > 0 {
				say("    %s:%s", name, now)
			}
			last[name] = now
		}
	}
	return func(format string, a ...any) { look(); say(format, a...) }
}
