package main

import (
	"os/exec"
	"strings"
	"syscall"
	"testing"
	"time"

	"evenpull/server/drive"
	"evenpull/sync/merge"
)

// The program as a hub of the program: linked by a code of the upstream's shell, the settings as variables.
func TestTheProgramAsAHub(t *testing.T) {
	upData, hubData := t.TempDir(), t.TempDir()
	up := begin(t, upData).up()
	k := up.claim(upData)
	out, err := exec.Command(binary, "invite", "--hub", "--data", upData).Output()
	must(t, err)
	code, _, _ := strings.Cut(string(out), "\n")
	vars := []string{"EVENPULL_UPSTREAM=" + up.URL, "EVENPULL_LINK=" + code}
	started := func() *process {
		p, err := drive.Begin(binary, hubData, vars)
		must(t, err)
		t.Cleanup(func() { _ = p.Cmd.Process.Kill() })
		return (&process{p, t}).up()
	}
	h := started()
	here := *k
	here.URL = h.URL
	must(t, later(here.SignIn)) // once the hub has read who is who
	phone := newPhone()
	must(t, here.Exchange(h.Server, phone))
	op := note(t, phone, "from the hall")
	must(t, here.Exchange(h.Server, phone))
	seen := func() error {
		reader := newPhone()
		if err := k.Exchange(up.Server, reader); err != nil {
			return err
		}
		if reader.Base.Records[merge.Key{Kind: "note", ID: op.ID}] == nil {
			return errShown // not yet
		}
		return nil
	}
	must(t, later(seen))
	must(t, h.Cmd.Process.Signal(syscall.SIGTERM))
	must(t, h.Wait(5*time.Second))
	h = started() // with a code that was used: it goes on with what it carries
	h.again(&here)
	for _, text := range []string{h.Out.String(), h.Errs.String(), up.Errs.String()} {
		if strings.Contains(text, code) {
			t.Errorf("the code is told: %s", text)
		}
	}
	must(t, up.Cmd.Process.Signal(syscall.SIGTERM)) // and while the hub listens
	must(t, up.Wait(5*time.Second))
}

// later tries until what servers do by themselves is done.
func later(try func() error) (err error) {
	for deadline := time.Now().Add(10 * time.Second); time.Now().Before(deadline); time.Sleep(20 * time.Millisecond) {
		if err = try(); err == nil {
			return nil
		}
	}
	return err
}
