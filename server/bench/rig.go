package main

import (
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"strconv"
	"strings"
	"syscall"
	"time"

	"evenpull/server/drive"
)

// A rig is one running server with an empty data folder, and its keeper.
type rig struct {
	*drive.Process
	data   string
	keeper *drive.Caller
}

func newRig(binary string, vars ...string) (*rig, error) {
	data, err := os.MkdirTemp("", "evenpull-bench-")
	if err != nil {
		return nil, err
	}
	r := &rig{data: data}
	if r.Process, err = drive.Begin(binary, data, vars); err != nil {
		return nil, err
	}
	if err := r.Up(); err != nil {
		return nil, err
	}
	if r.keeper, err = drive.NewCaller(r.URL); err != nil {
		return nil, err
	}
	return r, r.keeper.Claim(data)
}

// restart kills the server as a power cut would and starts it again.
func (r *rig) restart() (err error) {
	r.Kill()
	if r.Process, err = drive.Begin(r.Cmd.Path, r.data, nil); err != nil {
		return err
	}
	if err := r.Up(); err != nil {
		return err
	}
	r.keeper.URL = r.URL
	return nil
}

func (r *rig) end() {
	r.Kill()
	_ = os.RemoveAll(r.data)
}

// over returns the keeper's phone on another link, already connected and signed in.
func (r *rig) over(l *link) (*drive.Caller, error) {
	c := *r.keeper
	c.URL, c.HTTP, c.Packed = l.url, l.client, true
	if err := c.SignIn(); err != nil {
		return nil, err
	}
	l.reset()
	return &c, nil
}

// memory is the server's anonymous resident memory in bytes: what it holds
// itself, without the pages of files that the system may drop.
func (r *rig) memory() (int64, error) {
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", r.Cmd.Process.Pid))
	if err != nil {
		return 0, err
	}
	for line := range strings.Lines(string(raw)) {
		if rest, ok := strings.CutPrefix(line, "RssAnon:"); ok {
			kb, err := strconv.ParseInt(strings.TrimSpace(strings.TrimSuffix(strings.TrimSpace(rest), "kB")), 10, 64)
			return kb << 10, err
		}
	}
	return 0, fmt.Errorf("this system does not tell RssAnon")
}

// busy is the processor time that the server has used, in milliseconds. Unlike
// the clock it hardly grows when others use the machine.
func (r *rig) busy() float64 {
	raw, err := os.ReadFile(fmt.Sprintf("/proc/%d/stat", r.Cmd.Process.Pid))
	if err != nil {
		return 0
	}
	_, rest, _ := strings.Cut(string(raw), ") ")
	fields := strings.Fields(rest)
	if len(fields) < 13 {
		return 0
	}
	user, _ := strconv.ParseFloat(fields[11], 64)
	system, _ := strconv.ParseFloat(fields[12], 64)
	return (user + system) * 10 // ticks of 1/100 s
}

// disk is what the data folder takes: the larger of bytes and blocks of each file, without the app's assets.
func (r *rig) disk() (total int64, err error) {
	err = filepath.WalkDir(r.data, func(name string, e fs.DirEntry, err error) error {
		if err != nil || e.IsDir() {
			if e != nil && e.Name() == "assets" {
				return fs.SkipDir
			}
			return err
		}
		info, err := e.Info()
		if err == nil {
			total += max(info.Size(), info.Sys().(*syscall.Stat_t).Blocks*512)
		}
		return err
	})
	return total, err
}

func since(t time.Time) float64 { return float64(time.Since(t).Microseconds()) / 1000 }
