package main

import (
	"bytes"
	"encoding/json"
	"fmt"

	"evenpull/server/drive"
	"evenpull/sync/merge"
	"evenpull/sync/ops"
	"evenpull/sync/replication"
)

// push sends what a phone wrote, batch by batch, until all is acknowledged with
// the digest that the phone has too.
func push(c *drive.Caller, pending []replication.Pending) error {
	first, err := c.Ask(&replication.Request{Format: ops.Format, Ops: []replication.Element{}}) // who is there
	if err != nil {
		return err
	}
	req := replication.Request{Format: ops.Format, Server: first.Server, Epoch: first.Epoch, After: first.UpTo, AfterDigest: first.UpToDigest,
		Replica: pending[0].Op.Replica, Ops: []replication.Element{}}
	for sent := 0; sent < len(pending); {
		batch := pending[sent:min(sent+ops.MaxBatchOps, len(pending))]
		req.From = batch[0].Op.N
		body, err := bodyOf(&req, batch)
		if err != nil {
			return err
		}
		a, err := exchange(c, body)
		if err != nil {
			return err
		}
		last := batch[len(batch)-1]
		if e := a.Acked[req.Replica]; len(a.Refused) > 0 || e.N != last.Op.N || e.Digest != last.Chain.Short() {
			return fmt.Errorf("after op %d: acknowledged %v, refused %v", last.Op.N, e, a.Refused)
		}
		sent += len(batch)
		req.PrevDigest = last.Chain
		req.After, req.AfterDigest, req.Reading = a.UpTo, a.UpToDigest, a.Reading
		if !a.More {
			req.Reading = 0
		}
	}
	return nil
}

// bodyOf writes a request with the ops' own bytes in it.
func bodyOf(req *replication.Request, batch []replication.Pending) ([]byte, error) {
	head, err := replication.Marshal(req)
	if err != nil {
		return nil, err
	}
	before, after, ok := bytes.Cut(head, []byte(`"ops":[]`))
	if !ok {
		return nil, fmt.Errorf("no place for ops in %s", head)
	}
	body := append(make([]byte, 0, 300*len(batch)), before...)
	body = append(body, `"ops":[`...)
	for i, o := range batch {
		if i > 0 {
			body = append(body, ',')
		}
		body = append(body, o.Op.Bytes()...)
	}
	return append(append(body, ']'), after...), nil
}

func exchange(c *drive.Caller, body []byte) (*replication.Answer, error) {
	raw, err := c.Send("POST", "/v1/studios/"+c.Studio+"/exchange", body)
	if err != nil {
		return nil, err
	}
	a := &replication.Answer{}
	return a, json.Unmarshal(raw, a)
}

// catchUp reads a whole studio into an empty copy.
func catchUp(c *drive.Caller) (*merge.State, error) {
	state := merge.NewState()
	req := replication.Request{Format: ops.Format, Ops: []replication.Element{}}
	for {
		a, err := c.Ask(&req)
		if err != nil {
			return nil, err
		}
		records, err := replication.ReadRecords(a.Records)
		if err != nil {
			return nil, err
		}
		for _, v := range a.Voids {
			state.AddVoid(v, false)
		}
		state.Take(records, a.Have)
		req.Server, req.Epoch, req.After, req.AfterDigest, req.Reading = a.Server, a.Epoch, a.UpTo, a.UpToDigest, a.Reading
		if !a.More {
			state.Raise(a.Have)
			return state, nil
		}
	}
}

// values counts the live values of a copy, without the server's own records.
func values(s *merge.State) (n int) {
	for k, r := range s.Records {
		if k.Kind == "note" {
			for _, f := range r.Fields {
				n += len(f.Live)
			}
		}
	}
	return n
}
