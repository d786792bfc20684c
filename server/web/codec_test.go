package web

import (
	"errors"
	"net/http"
	"testing"

	"evenpull/server/fault"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
	"evenpull/sync/synctest"
)

// FuzzExchange puts foreign bytes through all that reads them: decoded, then
// served by a working server. Whatever they are, the outcome is an answer or a
// refusal that names its kind.
func FuzzExchange(f *testing.F) {
	const zero = "0000000000000000000000000000000000000000000000000000000000000000"
	const id = "11111111111111111111111111111111"
	head := `{"format":1,"server":"","epoch":"","after":0,"afterDigest":"","replica":"` + id + `","from":1,"prevDigest":"` + zero + `",`
	for _, rest := range []string{
		`"ops":[]}`,
		`"ops":[{"at":[1,0],"by":"","id":"` + id + `","kind":"note","n":1,"over":{},"replica":"` + id + `","set":{"text":"x"}}]}`,
		`"ops":[{"void":{"n":1,"chain":"` + zero + `","over":{},"reason":"malformed"}}]}`,
		`"ops":[{"at":[1,0],"by":"","id":"` + id + `","kind":"purge","n":1,"over":{},"replica":"` + id + `","set":{"dots":["` + id + `:1"]}}]}`,
		`"ops":[],"back":{"have":{"` + id + `":[3,"0123456789abcdef"]},"records":[{"kind":"note","id":"` + id + `","fields":{"a":{"live":[{"dot":"` + id + `:2","at":[1,0],"by":"","value":1}],"dead":["` + id + `:1"]}}}],"voids":[{"dot":"` + id + `:3","digest":"0123456789abcdef","over":{},"reason":"x"}],"last":true}}`,
		`"ops":[],"back":{"have":{},"records":[null],"voids":[],"last":true}}`,
		`"ops":[],"frames":[{"replica":"` + id + `","from":1,"prevDigest":"` + zero + `","ops":[1],"via":"hub","renamed":[{"replica":"` + id + `","from":1,"to":"` + id + `"}]}]}`,
	} {
		f.Add([]byte(head + rest))
	}
	f.Fuzz(func(t *testing.T, raw []byte) {
		req, err := decodeExchange(raw)
		if err != nil {
			var e *fault.Error
			if !errors.As(err, &e) || e.Kind == fault.Internal {
				t.Errorf("decoding: %v", err)
			}
			return
		}
		a, err := replication.Serve(synctest.NewServer("s", "e"), req, replication.Rights{Write: true, Purge: true}, replication.PageBytes)
		if (a == nil) == (err == nil) || err != nil && !errors.Is(err, replication.ErrBad) {
			t.Errorf("served: %v, %v", a, err)
		}
		if a != nil && len(a.Acked) > ops.MaxBatchOps+1 {
			t.Errorf("%d entries acknowledged", len(a.Acked))
		}
	})
}

// FuzzContentRange holds the only other text of a request that is taken apart by hand.
func FuzzContentRange(f *testing.F) {
	for _, s := range []string{"bytes 0-9/10", "bytes 5-9/10", "bytes 0-0/1", "bytes */10", "bytes 9-1/10"} {
		f.Add(s, int64(10))
	}
	f.Fuzz(func(t *testing.T, text string, length int64) {
		at, end, total, err := pieceOf(request(text, length))
		if err == nil && (at < 0 || end <= at || total < end || total > ops.MaxPhotoBytes) {
			t.Errorf("%q of %d: %d to %d of %d", text, length, at, end, total)
		}
	})
}

func request(contentRange string, length int64) *http.Request {
	r := &http.Request{Header: http.Header{}, ContentLength: length}
	if contentRange != "" {
		r.Header.Set("Content-Range", contentRange)
	}
	return r
}
