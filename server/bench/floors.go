package main

import (
	"bytes"
	"encoding/binary"
	"io"
	"net/http"
	"net/http/httptest"
	"os"
	"path/filepath"
	"time"

	"go.etcd.io/bbolt"

	"evenpull/sync/replication"
)

// floors are what the same machine needs at the same time for the least that any
// such server must do.
type floors struct {
	Append  float64 `json:"appendMs"`  // 1,000 changes appended, then fsync
	Bolt    float64 `json:"boltMs"`    // all changes in bbolt, 500 a commit
	LogUp   float64 `json:"logUpMs"`   // a bare log over HTTP: 1,000 a request, fsync each
	LogDown float64 `json:"logDownMs"` // all of that log in one answer
}

func measureFloors(pending []replication.Pending) (f floors, err error) {
	folder, err := os.MkdirTemp("", "evenpull-floor-")
	if err != nil {
		return f, err
	}
	defer os.RemoveAll(folder)
	file, err := os.Create(filepath.Join(folder, "log"))
	if err != nil {
		return f, err
	}
	defer file.Close()
	var batches [][]byte
	for at := 0; at < len(pending); at += 1000 {
		var b []byte
		for _, o := range pending[at:min(at+1000, len(pending))] {
			b = append(append(b, o.Op.Bytes()...), '\n')
		}
		batches = append(batches, b)
	}
	start := time.Now()
	if err := add(file, batches[0]); err != nil {
		return f, err
	}
	f.Append = since(start)
	if f.Bolt, err = boltFloor(filepath.Join(folder, "bolt"), pending); err != nil {
		return f, err
	}
	server := httptest.NewServer(http.HandlerFunc(func(w http.ResponseWriter, r *http.Request) {
		if r.Method == http.MethodGet {
			http.ServeFile(w, r, file.Name())
			return
		}
		b, err := io.ReadAll(r.Body)
		if err == nil {
			err = add(file, b)
		}
		if err != nil {
			w.WriteHeader(http.StatusInternalServerError)
		}
	}))
	defer server.Close()
	start = time.Now()
	for _, b := range batches {
		resp, err := http.Post(server.URL, "", bytes.NewReader(b))
		if err != nil {
			return f, err
		}
		resp.Body.Close()
	}
	f.LogUp = since(start)
	start = time.Now()
	resp, err := http.Get(server.URL)
	if err != nil {
		return f, err
	}
	defer resp.Body.Close()
	_, err = io.Copy(io.Discard, resp.Body)
	f.LogDown = since(start)
	return f, err
}

func add(file *os.File, b []byte) error {
	if _, err := file.Write(b); err != nil {
		return err
	}
	return file.Sync()
}

func boltFloor(name string, pending []replication.Pending) (float64, error) {
	db, err := bbolt.Open(name, 0o600, nil)
	if err != nil {
		return 0, err
	}
	defer db.Close()
	start := time.Now()
	for at := 0; at < len(pending); at += 500 {
		err := db.Update(func(tx *bbolt.Tx) error {
			b, err := tx.CreateBucketIfNotExists([]byte("ops"))
			if err != nil {
				return err
			}
			b.FillPercent = 1
			for _, o := range pending[at:min(at+500, len(pending))] {
				k := binary.BigEndian.AppendUint64(o.Op.Replica[:], o.Op.N)
				if err := b.Put(k, o.Op.Bytes()); err != nil {
					return err
				}
			}
			return nil
		})
		if err != nil {
			return 0, err
		}
	}
	return since(start), nil
}

// fsyncs appends and syncs a kilobyte now and then until stop, and returns how
// long each took: the disk has its moments, and every commit meets them too.
func fsyncs(stop <-chan struct{}) (took []float64) {
	file, err := os.CreateTemp("", "evenpull-floor-")
	if err != nil {
		return nil
	}
	defer os.Remove(file.Name())
	defer file.Close()
	for {
		select {
		case <-stop:
			return took
		case <-time.After(20 * time.Millisecond):
		}
		start := time.Now()
		if add(file, make([]byte, 1000)) != nil {
			return took
		}
		took = append(took, since(start))
	}
}
