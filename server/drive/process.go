// Package drive starts the built program and speaks to it as phones do. It is
// for tests and for measuring only.
package drive

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"sync"
	"time"
)

// Build compiles the program, as it is shipped, into a folder and returns its file.
func Build(folder, version string) (string, error) {
	name := filepath.Join(folder, "evenpull")
	build := exec.Command("go", "build", "-trimpath", "-ldflags", "-s -w -X main.version="+version, "-o", name, "evenpull/server")
	build.Env = append(os.Environ(), "CGO_ENABLED=0")
	if out, err := build.CombinedOutput(); err != nil {
		return "", fmt.Errorf("%w: %s", err, out)
	}
	return name, nil
}

// A Process is the program, running.
type Process struct {
	Cmd    *exec.Cmd
	URL    string // once it is Up
	Server string // its id
	Out    *Buffer
	Errs   *Buffer
	ended  chan error
}

// A Buffer may be written and read at once.
type Buffer struct {
	mu sync.Mutex
	b  bytes.Buffer
}

func (s *Buffer) Write(p []byte) (int, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.Write(p)
}

func (s *Buffer) String() string {
	s.mu.Lock()
	defer s.mu.Unlock()
	return s.b.String()
}

// Begin starts the program on a free port; vars are added to an empty environment.
func Begin(binary, data string, vars []string, args ...string) (*Process, error) {
	p := &Process{Out: &Buffer{}, Errs: &Buffer{}, ended: make(chan error, 1)}
	p.Cmd = exec.Command(binary, append([]string{"--listen", "127.0.0.1:0", "--data", data}, args...)...)
	p.Cmd.Env = append([]string{"HOME=" + data}, vars...)
	p.Cmd.Stdout, p.Cmd.Stderr = p.Out, p.Errs
	if err := p.Cmd.Start(); err != nil {
		return nil, err
	}
	go func() { p.ended <- p.Cmd.Wait() }()
	return p, nil
}

var address = regexp.MustCompile(`https?://127\.0\.0\.1:\d+`)

// Up waits until the program answers.
func (p *Process) Up() error {
	for deadline := time.Now().Add(20 * time.Second); time.Now().Before(deadline); time.Sleep(5 * time.Millisecond) {
		if p.URL = address.FindString(p.Out.String()); p.URL != "" {
			if resp, err := http.Get(p.URL + "/readyz"); err == nil {
				resp.Body.Close()
				if resp.StatusCode == http.StatusOK {
					return p.who()
				}
			}
		}
		select {
		case err := <-p.ended:
			p.ended <- err
			return fmt.Errorf("ended at once: %v\n%s%s", err, p.Out, p.Errs)
		default:
		}
	}
	return fmt.Errorf("never answered\n%s%s", p.Out, p.Errs)
}

func (p *Process) who() error {
	resp, err := http.Get(p.URL + "/v1/server")
	if err != nil {
		return err
	}
	defer resp.Body.Close()
	var in struct{ Server string }
	if err := json.NewDecoder(resp.Body).Decode(&in); err != nil {
		return err
	}
	p.Server = in.Server
	return nil
}

// ErrRuns says that the program did not end in time.
var ErrRuns = errors.New("still runs")

// Wait waits for the program's end and returns how it exited.
func (p *Process) Wait(within time.Duration) error {
	select {
	case err := <-p.ended:
		p.ended <- err
		return err
	case <-time.After(within):
		return ErrRuns
	}
}

// Kill ends the program as a power cut would, and waits until it is gone.
func (p *Process) Kill() {
	_ = p.Cmd.Process.Kill()
	_ = p.Wait(10 * time.Second)
}
