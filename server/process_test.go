package main

import (
	"encoding/json"
	"fmt"
	"os"
	"testing"
	"time"

	"evenpull/server/drive"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

var binary string

func TestMain(m *testing.M) {
	folder, err := os.MkdirTemp("", "evenpull-test-")
	if err == nil {
		binary, err = drive.Build(folder, "1.2.3-test")
	}
	code := 1
	if err == nil {
		code = m.Run()
	} else {
		fmt.Fprintln(os.Stderr, err)
	}
	_ = os.RemoveAll(folder)
	os.Exit(code)
}

// A process is the program, running; what goes wrong with it fails the test.
type process struct {
	*drive.Process
	t *testing.T
}

func begin(t *testing.T, data string, args ...string) *process {
	t.Helper()
	p, err := drive.Begin(binary, data, nil, args...)
	must(t, err)
	t.Cleanup(func() { _ = p.Cmd.Process.Kill() })
	return &process{p, t}
}

// up waits until the program answers.
func (p *process) up() *process {
	p.t.Helper()
	must(p.t, p.Up())
	return p
}

func (p *process) caller() *drive.Caller {
	p.t.Helper()
	c, err := drive.NewCaller(p.URL)
	must(p.t, err)
	return c
}

// claim returns the keeper, who claimed the server with the code of its file and signed in.
func (p *process) claim(data string) *drive.Caller {
	p.t.Helper()
	c := p.caller()
	must(p.t, c.Claim(data))
	if c.Role != "keeper" {
		p.t.Errorf("role %q", c.Role)
	}
	return c
}

// enter returns a phone that a code let in.
func (p *process) enter(code string) *drive.Caller {
	p.t.Helper()
	c := p.caller()
	must(p.t, c.Enter("/v1/join", code))
	return c
}

// again lets a phone go on with a server that was started again.
func (p *process) again(c *drive.Caller) {
	p.t.Helper()
	c.URL = p.URL
	must(p.t, c.SignIn())
}

func newPhone() *replication.Phone { return replication.NewPhone("", drive.NewID) }

func note(t *testing.T, phone *replication.Phone, text string) ops.Op {
	t.Helper()
	op, err := phone.Write("note", drive.NewID(), map[string]json.RawMessage{"text": ops.String(text)}, time.Now().UnixMilli())
	must(t, err)
	return op
}

func must(t *testing.T, err error) {
	t.Helper()
	if err != nil {
		t.Fatal(err)
	}
}
