package synctest

import (
	"encoding/hex"
	"fmt"
	"slices"
	"strconv"
	"strings"

	"evenpull/sync/ops"
)

// A script is what was done in a world, a line each, and what came out: text
// that a person can read and change.
//
//	# what it shows
//	world phones=3 hub=1
//	ids 6724a1b2 …
//	write phone=0 wait=12 record=1 field=0 clock=3600000
//	exchange phone=0 wait=5 most=3 unheard
//	heal
//	note 0 a: v4 v2
//
// Verbs are those of World.act. Numbers of a line count from 0; most and part
// are one less than how many ops go at once and how many records come back at
// once. unsent, unheard: the request or the answer was lost; late: the answer comes
// later (again), twice: now and then again; gone: this phone never comes back; still: the restore is
// silent though phones were cloned, which is safe only where the lost branch comes back by another way
// before its writer does; clock: the phone's clock, 3,600,000 is right. ids
// are the fresh ids that are taken, their first 4 bytes. Behind heal stand the
// values that are live at the end, newest first, of each record and field.

// A line of a script: a verb and what belongs to it. Each word must be asked for.
type line struct {
	verb  string
	words map[string]string
}

func parseLine(text string) (*line, error) {
	words := strings.Fields(text)
	l := &line{words[0], map[string]string{}}
	for _, word := range words[1:] {
		name, value, _ := strings.Cut(word, "=")
		if _, twice := l.words[name]; twice {
			return nil, fmt.Errorf("%s stands twice", name)
		}
		l.words[name] = value
	}
	return l, nil
}

func (l *line) number(name string, below int) int {
	n, err := strconv.Atoi(l.words[name])
	if err != nil || n < 0 || n >= below {
		panic(fmt.Sprintf("%s=%q: want a number below %d", name, l.words[name], below))
	}
	delete(l.words, name)
	return n
}

func (l *line) flag(name string) bool {
	value, ok := l.words[name]
	if value != "" {
		panic(fmt.Sprintf("%s=%s: want %s alone", name, value, name))
	}
	delete(l.words, name)
	return ok
}

// Script spells what was done in this world, without what came out: that is
// what comes out when it is played.
func (w *World) Script(about string) string {
	ids := ""
	for _, id := range w.ids {
		ids += " " + hex.EncodeToString(id[:4])
	}
	lines := append([]string{"# " + about, w.told[0], "ids" + ids}, w.told[1:]...)
	return strings.Join(lines, "\n") + "\n"
}

// comesOut lists the values that are live upstream.
func (w *World) comesOut() (lines []string) {
	for i, id := range w.records {
		for key, r := range w.servers[0].Records {
			if key.ID != id || key.Kind != "note" && key.Kind != "novelty" {
				continue
			}
			for name, f := range r.Fields {
				if len(f.Live) == 0 || name == "removed" {
					continue
				}
				out := fmt.Sprintf("%s %d %s:", key.Kind, i, name)
				for _, v := range f.Live {
					value, _, _ := strings.Cut(strings.Trim(string(v.Value), `"`), " ")
					if v.Value == nil {
						value = "purged"
					}
					out += " " + value
				}
				lines = append(lines, out)
			}
		}
	}
	slices.Sort(lines)
	return lines
}

// Play does what a script says, heals and checks. It returns what came out and
// what the script says of it.
func Play(script string, trace func(string, ...any)) (got, want []string, err error) {
	w := newWorld(0)
	w.trace = trace
	return w.follow(script)
}

func (w *World) follow(script string) (got, want []string, err error) {
	if w.ids, err = readIDs(script); err != nil {
		return nil, nil, err
	}
	at := 0
	defer func() {
		if p := recover(); p != nil {
			err = fmt.Errorf("line %d: %v", at, p)
		}
	}()
	healed := false
	for i, text := range strings.Split(script, "\n") {
		at = i + 1
		switch {
		case strings.TrimSpace(text) == "" || strings.HasPrefix(text, "#"):
		case healed:
			want = append(want, text)
		case text == "heal":
			w.line, healed = nil, true
			if err := w.heal(); err != nil {
				return nil, nil, err
			}
		default:
			if err := w.play(text); err != nil {
				return nil, nil, fmt.Errorf("line %d: %w", at, err)
			}
		}
	}
	if !healed {
		return nil, nil, fmt.Errorf("the script does not end with heal")
	}
	return w.comesOut(), want, nil
}

func (w *World) play(text string) error {
	if strings.HasPrefix(text, "ids ") {
		return nil // read already: the world's first phones take some
	}
	l, err := parseLine(text)
	if err != nil {
		return err
	}
	w.line = l
	switch l.verb {
	case "world":
		phones := l.number("phones", 9)
		if l.number("hub", 2) == 0 {
			w.calm["hub"] = true
		}
		w.people(phones)
	default:
		if len(w.phones) == 0 {
			return fmt.Errorf("the first line must be of the world")
		}
		wait := l.number("wait", 1<<40)
		if err := w.act(l.verb, l.number("phone", len(w.phones)), wait); err != nil {
			return err
		}
	}
	for word := range l.words {
		return fmt.Errorf("%s: nobody asked for it", word)
	}
	return nil
}

// readIDs reads the line of ids, which may stand behind the world's.
func readIDs(script string) (ids []ops.ID, err error) {
	for _, text := range strings.Split(script, "\n") {
		words := strings.Fields(text)
		if len(words) == 0 || words[0] != "ids" {
			continue
		}
		for _, word := range words[1:] {
			var id ops.ID
			if n, err := hex.Decode(id[:], []byte(word)); err != nil || n != 4 {
				return nil, fmt.Errorf("id %q: want 8 hex digits", word)
			}
			ids = append(ids, id)
		}
	}
	return ids, nil
}
