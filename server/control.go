package main

import (
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"net"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"evenpull/server/store"
)

// A running server holds its store alone. Whoever may read the data folder asks
// it for a backup through a socket there.
const controlName = "control"

// listenControl answers on the socket until the returned function is called.
func listenControl(st *store.Store, data string, stopping <-chan struct{}) (func(), error) {
	name := filepath.Join(data, controlName)
	if err := os.Remove(name); err != nil && !errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("an old %s is in the way: %w", name, err)
	}
	listener, err := net.Listen("unix", name)
	if err != nil {
		return func() {}, nil // a path too long for one: a backup is made with the server stopped, and says so
	}
	if err := os.Chmod(name, 0o600); err != nil {
		return nil, errors.Join(fmt.Errorf("the socket %s can't be kept to its owner: %w", name, err), listener.Close())
	}
	mux := http.NewServeMux()
	mux.HandleFunc("GET /backup", func(w http.ResponseWriter, _ *http.Request) {
		if err := st.Backup(untilStopped{w, stopping}); err != nil {
			panic(http.ErrAbortHandler) // the reader must see that it is not whole
		}
	})
	server := &http.Server{Handler: mux, ReadHeaderTimeout: 10 * time.Second}
	go func() { _ = server.Serve(listener) }()
	return func() { _ = server.Close(); _ = os.Remove(name) }, nil
}

// untilStopped ends a backup when the server is told to stop.
type untilStopped struct {
	io.Writer
	stopping <-chan struct{}
}

func (u untilStopped) Write(b []byte) (int, error) {
	select {
	case <-u.stopping:
		return 0, errors.New("the server stops")
	default:
		return u.Writer.Write(b)
	}
}

// openBackup returns a stream of a backup of the data folder, from the server
// that runs on it or, where none runs, from the store itself.
func openBackup(ctx context.Context, data string) (io.ReadCloser, error) {
	if !store.HoldsStore(data) {
		return nil, errNoStore(data)
	}
	st, err := store.Open(data)
	if err == nil {
		r, w := io.Pipe()
		go func() { w.CloseWithError(errors.Join(st.Backup(w), st.Close())) }()
		return r, nil
	}
	if !errors.Is(err, store.ErrLocked) {
		return nil, err
	}
	client := &http.Client{Transport: &http.Transport{DialContext: func(ctx context.Context, _, _ string) (net.Conn, error) {
		return (&net.Dialer{}).DialContext(ctx, "unix", filepath.Join(data, controlName))
	}}}
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, "http://control/backup", nil)
	if err != nil {
		return nil, err
	}
	resp, err := client.Do(req)
	if err != nil {
		return nil, fmt.Errorf("the server that runs on %s gives no backup (is its path too long for a socket?); stop it and try again: %w", data, err)
	}
	return resp.Body, nil
}
