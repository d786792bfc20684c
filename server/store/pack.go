package store

import (
	"bytes"
	"encoding/binary"
	"fmt"

	"github.com/klauspost/compress/zstd"
)

// Rows of ops and of records are kept in blocks: a hundred of them in one row
// take a fifth of the room that each would take alone, and a commit writes that
// much less.
const (
	blockBytes = 64 << 10 // of a block of records before it is packed; one record may be larger
	opsBytes   = 4        // times that for a block of ops: they are read again by few
	mostLinks  = 224      // of one block of the log: two fit on a page, and so many hashes an old cursor costs at most
	packFrom   = 400      // bytes below which packing gains nothing
)

// A blocks says how large blocks grow, and packs them. Its methods may be
// called from many goroutines.
type blocks struct {
	bytes, links int
	in           *zstd.Encoder // for what is written once
	quick        *zstd.Encoder // for what is soon written anew
	out          *zstd.Decoder
}

func newBlocks(bytes, links int) (*blocks, error) {
	writer := func(level zstd.EncoderLevel) (*zstd.Encoder, error) {
		return zstd.NewWriter(nil, zstd.WithEncoderLevel(level), zstd.WithEncoderConcurrency(1),
			zstd.WithWindowSize(opsBytes*blockBytes), zstd.WithLowerEncoderMem(true))
	}
	in, err := writer(zstd.SpeedDefault)
	if err != nil {
		return nil, err
	}
	quick, err := writer(zstd.SpeedFastest)
	if err != nil {
		return nil, err
	}
	out, err := zstd.NewReader(nil, zstd.WithDecoderConcurrency(2), zstd.WithDecoderLowmem(true), zstd.WithDecoderMaxMemory(64<<20))
	return &blocks{bytes, links, in, quick, out}, err
}

// pack appends a block: its plain size, 0 where it stands as it is, and its bytes.
func (p *blocks) pack(with *zstd.Encoder, b, plain []byte) []byte {
	if len(plain) >= packFrom {
		b = binary.AppendUvarint(b, uint64(len(plain)))
		return with.EncodeAll(plain, b)
	}
	return append(append(b, 0), plain...)
}

func (p *blocks) unpack(table string, b []byte) []byte {
	size, n := binary.Uvarint(b)
	if n <= 0 {
		panic(fmt.Errorf("a row of table %s: cut off", table))
	}
	if size == 0 {
		return bytes.Clone(b[n:]) // the row's own bytes hold until the next write only
	}
	plain, err := p.out.DecodeAll(b[n:], make([]byte, 0, size))
	if err != nil || uint64(len(plain)) != size {
		panic(fmt.Errorf("a row of table %s: %w", table, err))
	}
	return plain
}

// A scan reads what this package wrote; bytes that end too soon are a broken store.
type scan struct {
	table string
	b     []byte
}

func (s *scan) num() uint64 {
	v, n := binary.Uvarint(s.b)
	if n <= 0 {
		panic(fmt.Errorf("a row of table %s: cut off", s.table))
	}
	s.b = s.b[n:]
	return v
}

func (s *scan) diff() int64 {
	v, n := binary.Varint(s.b)
	if n <= 0 {
		panic(fmt.Errorf("a row of table %s: cut off", s.table))
	}
	s.b = s.b[n:]
	return v
}

func (s *scan) take(n uint64) []byte {
	if n > uint64(len(s.b)) {
		panic(fmt.Errorf("a row of table %s: cut off", s.table))
	}
	b := s.b[:n:n]
	s.b = s.b[n:]
	return b
}

func (s *scan) part() []byte { return s.take(s.num()) }

func appendPart(b, part []byte) []byte {
	return append(binary.AppendUvarint(b, uint64(len(part))), part...)
}
