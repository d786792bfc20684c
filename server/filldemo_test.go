package main

import (
	"bytes"
	"crypto/ecdsa"
	"crypto/elliptic"
	"crypto/rand"
	"errors"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"evenpull/sync/replication"
)

func TestDemoOpensByItsCodeAndFillsOnlyAnEmptyFolder(t *testing.T) {
	data := filepath.Join(t.TempDir(), "data")
	p := begin(t, data, "--demo").up()
	found := regexp.MustCompile(`code (\S+) in the app`).FindStringSubmatch(p.out.String())
	if found == nil {
		t.Fatalf("no code in %s", p.out)
	}
	for range 2 { // many uses
		key, err := ecdsa.GenerateKey(elliptic.P256(), rand.Reader)
		must(t, err)
		k := p.enter(key, "/v1/join", found[1])
		phone := replication.NewPhone("", newID)
		must(t, p.exchange(k, phone))
		kinds := map[string]int{}
		for key := range phone.Base.Records {
			kinds[key.Kind]++
		}
		if kinds["machine"] != 2 || kinds["person"] < 2 || kinds["recipe"] != 12 {
			t.Errorf("the phone got %v", kinds)
		}
	}
	must(t, p.cmd.Process.Kill())
	<-p.ends

	var out, errs bytes.Buffer
	again := exec.Command(binary, "--demo", "--listen", "127.0.0.1:0", "--data", data)
	again.Stdout, again.Stderr = &out, &errs
	var exit *exec.ExitError
	if err := again.Run(); !errors.As(err, &exit) || exit.ExitCode() != 1 || !strings.Contains(errs.String(), "empty data folder") {
		t.Errorf("a second --demo: %v, %s", err, errs.String())
	}
}
