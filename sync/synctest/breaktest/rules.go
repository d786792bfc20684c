package main

const (
	inClock = "sync/clock"
	inOps   = "sync/ops"
	inMerge = "sync/merge"
	inReply = "sync/replication"
	inStore = "server/store"
)

// The rules of the model first: merge, pages, voids, removal, purge, the one
// spelling and stamps. Then those of each promise, under its number.
var rules = []rule{
	{"merge", "an op that was replaced before it came stays away", inMerge,
		"f.Dead = slices.Delete(f.Dead, i, i+1)\n\t\t\tcontinue", "f.Dead = slices.Delete(f.Dead, i, i+1)"},
	{"merge", "an op takes away what it names", inMerge, "\tf.drop(d)\n\tif !ctx.Has(d)", "\tif !ctx.Has(d)"},
	{"merge", "an op takes away no more than it names", inMerge, "for _, d := range named(name, op.Over[name], ctx) {", "f.Live = nil\n\t\tfor _, d := range named(name, op.Over[name], ctx) {"},
	{"merge", "an op extends the vector", inMerge, "s.C[d.Replica] = ops.Entry{N: d.N, Digest: at}", ""},
	{"merge", "what is named before it came is remembered", inMerge, "if !ctx.Has(d) && !slices.Contains(f.Dead, d) {", "if false {"},
	{"merge", "what is covered is dead no longer", inMerge, "f.Dead = slices.DeleteFunc(f.Dead, ctx.Has)", ""},
	{"merge", "what they cover and lack is dropped", inMerge, "if !stays && t.live(v.Dot) < 0 && theirC.Has(v.Dot) {", "if false {"},
	{"merge", "dead dots travel with their record", inMerge, "\t\tfor _, d := range dead {\n\t\t\tf.kill(d, ctx)\n\t\t}\n\t\tif len(f.Live)", "\t\t_ = dead\n\t\tif len(f.Live)"},
	{"merge", "what is dead here does not come with a page", inMerge, "&& !slices.Contains(f.Dead, v.Dot) {\n\t\t\t\tf.add(v)", "{\n\t\t\t\tf.add(v)"},
	{"merge", "what was replaced here does not come back with a page", inMerge, "known := !stays && (ctx.Has(v.Dot) ||", "known := false && (ctx.Has(v.Dot) ||"},
	{"merge", "the newest is first, whoever says so", inMerge, "slices.BinarySearchFunc(f.Live, v, newestFirst)", "0, true"},
	{"merge", "of two vectors the larger entry holds", inOps, "if e.N > v[r].N {\n\t\t\tv[r] = e", "if true {\n\t\t\tv[r] = e"},

	{"paging", "pages are read under the vector at which reading began", inReply, "a.Have = tx.VectorAt(a.Reading)", "a.Have = tx.Vector().Clone()"},
	{"paging", "the cursor goes no further than that vector", inReply, "a.UpTo = a.Reading", "a.UpTo = head"},
	{"paging", "the vector is raised only with the last page", inReply, "\tif !a.More {\n\t\tp.Base.Raise(a.Have)", "\tp.Base.Raise(a.Have)\n\tif !a.More {"},
	{"paging", "the vector is raised at all", inReply, "\t\tp.Base.Raise(a.Have)\n", ""},
	{"paging", "the answer to an older question is ignored", inReply, "if req.After != c.After || req.Epoch", "if req.Epoch"},
	{"paging", "turning away puts a half reading back to its start", inReply, "c.After, c.Digest, c.Reading = c.Start, c.StartAt, 0", "_ = 0"},
	{"paging", "whichever server is read, no other is left in the middle", inReply, "if id != a.Server && other.Reading > 0 {", "if id != a.Server && other.Reading > 0 && false {"},
	{"paging", "a hub takes the pages of a reading together", inReply, "u.Pages = append(u.Pages, records...)", "takeRecords(tx, records, a.Have, false, false)"},
	{"paging", "all records of one number go together", inStore, " && e.seq > upTo {", " {"},

	{"void", "who names a void replaces what it would have", inMerge, "if v, ok := ctx.Void(all[i]); ok {", "if v, ok := ctx.Void(all[i]); ok && false {"},
	{"void", "a void replaces nothing by itself", inMerge, "\t\tif slices.Contains(f.Dead, v.Dot) {\n\t\t\tfor _, d := range named", "\t\tif true {\n\t\t\tfor _, d := range named"},
	{"void", "a void that comes late does so too", inMerge, "\t\tif slices.Contains(f.Dead, v.Dot) {\n\t\t\tfor _, d := range named", "\t\tif false {\n\t\t\tfor _, d := range named"},
	{"void", "a void held as real is dropped", inMerge, "\t\tif f.live(v.Dot) >= 0 {\n\t\t\tf.drop(v.Dot)", "\t\tif false {\n\t\t\tf.drop(v.Dot)"},
	{"void", "what only a void replaced may come back", inMerge, " && !ctx.Revived(name, v.Dot)", ""},
	{"void", "what another op replaced by naming a void stays replaced", inMerge, "if r.Holds(field, v.Dot) || ctx.Revived(field, v.Dot) {", "if ctx.Has(v.Dot) {"},

	{"removal", "a value outside brings the record back", inMerge, "if name != FieldRemoved && !seen[v.Dot] {", "if name != FieldRemoved && !seen[v.Dot] && false {"},
	{"removal", "only what was seen is removed", inMerge, "seen[d] = true\n\t\t}\n\t}\n\tfor name, f := range r.Fields", "seen[d] = false\n\t\t}\n\t}\n\tfor name, f := range r.Fields"},

	{"purge", "a purge takes what is there", inMerge, "\tfor _, r := range s.Records {\n\t\tPurge(r, named)\n\t}\n", ""},
	{"purge", "a purged op is taken without its value", inMerge, "\t\tif ctx.Purged(v.Dot) {\n\t\t\tv.Value = nil\n\t\t}\n\t\tf.add(v)", "\t\tf.add(v)"},
	{"purge", "a purged value never comes back with a record", inMerge, "\t\t\tif ctx.Purged(v.Dot) {\n\t\t\t\tv.Value = nil\n\t\t\t}\n\t\t\tif i :=", "\t\t\tif i :="},
	{"purge", "a purged value keeps its place", inMerge, "f.Live[i].Value = nil\n\t\t\t\tchanged = true", "f.Live = slices.Delete(f.Live, i, i+1)\n\t\t\t\treturn true"},
	{"purge", "a purge replaces nothing", inReply, "case op.Kind == merge.KindPurge && len(op.Over) > 0:", "case false:"},
	{"purge", "only keepers purge", inReply, "case op.Kind == merge.KindPurge && !may.Purge:", "case false:"},
	{"purge", "a purge that is handed back purges", inReply, "tx.PutPurged(dots)", "_ = dots"},

	{"bytes", "the limit of an op is a limit", inOps, "if len(raw) > MaxOpBytes {", "if false {"},
	{"bytes", "keys stand in order, once each", inOps, "if !first && key <= last || !s.take(':') {", "if !first && key == \"\" && last == \"\" || !s.take(':') {"},
	{"bytes", "numbers are whole and within 2^53", inOps, "if v > MaxN {\n\t\t\treturn 0", "if v < 0 {\n\t\t\treturn 0"},
	{"bytes", "only control characters are written as numbers", inOps, "if hi < 0 || hi > 1 || lo < 0 {", "if hi < 0 || lo < 0 {"},
	{"bytes", "what has a short escape is written so", inOps, "if strings.IndexByte(\"\\b\\f\\n\\r\\t\", d) >= 0 {", "if false {"},
	{"bytes", "text is well formed", inOps, "\t\tif !utf8.Valid(raw) {\n", "\t\tif false && !utf8.Valid(raw) {\n"},
	{"bytes", "values have a depth", inOps, "if depth < 0 || s.i >= len(s.b) {", "if s.i >= len(s.b) {"},
	{"bytes", "an op has its eight keys and nothing behind", inOps, "if err != nil || s.i != len(raw) || seen != 8 {", "if err != nil {"},
	{"bytes", "what an op names it sets too", inOps, "if _, ok := o.Set[f]; !ok {", "if _, ok := o.Set[f]; !ok && false {"},
	{"bytes", "the chain is over what came before", inOps, "h := sha256.New()\n\th.Write(prev[:])\n\th.Write(op)", "h := sha256.New()\n\th.Write(op)"},
	{"bytes", "the chain is over the bytes", inOps, "\th.Write(op)\n", "\t_ = op\n"},
	{"bytes", "a server's own chain is over what came before", inOps, "\th.Write(prev[:])\n\th.Write(d.Replica[:])", "\th.Write(d.Replica[:])"},
	{"bytes", "a server keeps the sender's bytes", inReply, "l.Op = raw", "l.Op = append([]byte(\" \"), raw...)"},
	{"bytes", "messages carry bytes as they are", inReply, "\te.SetEscapeHTML(false)\n", ""},

	{"stamps", "a stamp never steps back", inClock, "max(nowMS, c.Last.MS)", "nowMS"},
	{"stamps", "a full count moves on", inClock, "case c.Last.Count == math.MaxUint16:", "case c.Last.Count == math.MaxUint16 && false:"},
	{"stamps", "what is read moves the clock", inClock, "if s.Compare(c.Last) > 0 {", "if false {"},
	{"stamps", "what is far ahead does not", inClock, "if s.MS > nowMS+MaxAheadMS {", "if false {"},

	{"2", "who writes waits for the disk", inStore, "return <-j.done\n", "select {\n\tcase err := <-j.done:\n\t\treturn err\n\tdefault:\n\t\treturn nil\n\t}\n"},
	{"2", "what did not reach the disk is not acknowledged", inStore, "if results[i] == nil {\n\t\t\t\tresults[i] = err\n\t\t\t}\n", ""},
	{"2", "an op leaves the outbox only when acknowledged", inReply, "o.Op.N > acked.N ||", "false ||"},

	{"3", "an op that is known is not taken again", inReply, "\t\tif n > known {\n\t\t\tbreak", "\t\tif n >= known {\n\t\t\tbreak"},
	{"3", "nothing is taken across a gap", inReply, "if f.From > known+1 {", "if false {"},
	{"3", "an op is refused for good again when it comes again", inReply, "a.Refused = append(a.Refused, Refusal{f.Replica, d.N, v.Reason, true})", "_ = v"},
	{"3", "only what was sent is acknowledged, byte for byte", inReply, " || !bytes.Equal(o.Op.Bytes(), req.Ops[o.Op.N-req.From]) {", " || false && bytes.Equal(nil, nil) {"},
	{"3", "a part that is taken twice drops no other", inReply, "if len(c.Back) > 0 && req.Back == &c.Back[0] {", "if len(c.Back) > 0 && req.Back != nil {"},

	{"4", "other bytes are a fork", inReply, "if unsure == 0 && (!ok || at != s.chain.Short()) {", "if unsure == 0 && !ok {"},
	{"4", "what can't be told from another's is a fork", inReply, "if unsure == 0 && (!ok || at != s.chain.Short()) {", "if unsure == 0 && ok && at != s.chain.Short() {"},
	{"4", "a frame goes on from the known chain", inReply, "; ok && at != f.PrevDigest.Short() {", "; ok && at != f.PrevDigest.Short() && false {"},
	{"4", "another digest at the last acknowledged is no acknowledgement", inReply, "o.Op.N == acked.N && o.Chain.Short() != acked.Digest ||", "false ||"},
	{"4", "another name after a fork", inReply, "\tif fork != 0 {\n\t\tp.rename(", "\tif fork != 0 && false {\n\t\tp.rename("},
	{"4", "own dots in over get the new name too", inReply, "over[name][i] = to(d)", "over[name][i] = d"},
	{"4", "own dots in values get the new name too", inReply, "set[name] = merge.References(op.Kind, name, value, to)", "set[name] = value"},
	{"4", "who sees more under its own name takes another", inReply, "if bears(p.Replica, p.Base.C[p.Replica].N, a.Have, records) {", "if false {"},
	{"4", "the server judges what waits before anything under its name is taken", inReply, "\t\tif len(p.Outbox) > 0 && !wentBack {", "\t\tif false {"},
	{"4", "of a server that can't judge them own ops are read as own", inReply, "|| !p.wrote(records) {", "|| true {"},
	{"4", "what differs from the own ops is somebody else's", inReply, "|| !p.wrote(records) {", "{"},
	{"4", "a replica writes to one server", inReply, "\tp.turn(server, c)\n", "\tp.Home = server\n"},
	{"4", "a name is not taken up again where another wrote on", inReply, "other.Left = nil // somebody", "_ = other // somebody"},
	{"4", "to a server not known yet nothing is sent", inReply, "if c == nil {\n\t\tr.Server", "if c == nil {\n\t\tfor _, o := range p.Outbox {\n\t\t\tr.Ops = append(r.Ops, o.Op.Bytes())\n\t\t}\n\t\tr.Server"},
	{"4", "the new name follows from the old and the first digest", inOps, "h := sha256.New()\n\th.Write(replica[:])\n\th.Write(at[:])", "h := sha256.New()\n\th.Write(replica[:])"},
	{"4", "a hub's branch gets the new name", inReply, "case rename(tx, r.Replica, r.N):", "case r.Reason == \"\" && rename(tx, r.Replica, r.N):"},
	{"4", "of a request with a fork in it nothing is taken", inReply, "case !forked:", "case !forked || true:"},
	{"4", "phones follow the branch that was renamed", inReply, "\t\tp.takeFork(k)\n", "\t\t_ = k\n"},
	{"4", "who followed the other branch keeps the name", inMerge, "&& k.Digests[i] == e.Digest", ""},
	{"4", "who has not heard of a fork is read under the new name", inReply, "Renamed: unlearnt(tx, req)}", "Renamed: nil}"},
	{"4", "how to read what names the branch goes up with it", inReply, "Via: via, Renamed: l.Renamed}", "Via: via}"},

	{"5", "a new epoch is seen", inReply, "case req.Epoch != epoch:", "case false:"},
	{"5", "another digest at the cursor is seen", inReply, "(!known || link.String() != req.AfterDigest)", "(!known || link.String() != req.AfterDigest && false)"},
	{"5", "a cursor beyond the head is seen", inReply, "(!known || link.String() != req.AfterDigest)", "(known && link.String() != req.AfterDigest)"},
	{"5", "a server that knows less of us than we do is seen", inReply, "if req.Replica == p.Replica && wentBack &&", "if false &&"},
	{"5", "the copy hands back what the server lacks", inReply, "if r := p.Base.Records[k]; r.Beyond(c) || doubt[k] ||", "if r := p.Base.Records[k]; doubt[k] ||"},
	{"5", "what the server holds and we know as replaced is handed back", inReply, "\tp.doubt(c, records)\n", ""},
	{"5", "a hand-back brings voids", inReply, "\ttakeVoids(tx, may.voids(tx, b.Voids))\n", ""},
	{"6", "a void that comes later has a number of its own", inReply, "\ttx.Tick()\n\tfor _, v := range voids {", "\tfor _, v := range voids {"},
	{"5", "the vector waits for the last part", inReply, "\tif last {\n\t\tfor _, replica", "\tif true {\n\t\tfor _, replica"},
	{"5", "a part remembers what it knows", inReply, "r.Known.Raise(more)", "_ = more"},
	{"5", "the last part waits for what its sender has not read", inReply, "if b.Last && unread(tx, more, after) {", "if false && unread(tx, more, after) {"},
	{"5", "a part that must wait is handed back anew", inReply, "c.Back, c.Ask = nil, true", "c.Back = nil"},
	{"5", "what was doubted then is doubted again", inReply, "for k := range c.Returning {\n\t\t\t\tc.doubt(k)", "for k := range c.Returning {\n\t\t\t\t_ = k"},
	{"5", "after a hand-back all is given out once more", inReply, "\tif b.Last && len(more) > 0 {\n\t\tsettle(tx)", "\tif false {\n\t\tsettle(tx)"},
	{"5", "turning to a server asks what it lacks", inReply, "c.Ask = true // what another", "// what another"},
	{"5", "after a new epoch another name", inReply, "\tif p.Home == a.Server {\n\t\tp.Home = \"\"\n\t}\n", ""},

	{"6", "a refusal for good leaves a void and the counter goes on", inReply, "\t\ttx.Append(d, l)\n\t\ttakeVoid(tx, v)\n", "\t\ttakeVoid(tx, v)\n"},
	{"6", "the words of a refused op are kept", inReply, "p.Needs = append(p.Needs, Needed{o.Op, reason})", "_ = reason"},
	{"6", "a phone's void says what the server could read", inReply, "read, _ := ops.Parse(o.Op.Bytes())", "read := o.Op"},
	{"6", "voids travel", inReply, "a.Voids = tx.VoidsSince(req.After)", ""},
	{"6", "voids are taken in", inReply, "\t\tp.Base.AddVoid(v, false)\n", "\t\t_ = v\n"},
	{"6", "what is refused for now stays in the outbox", inReply, "end = min(end, r.N)", "_ = r.N"},
	{"6", "an op counts under its own number only", inReply, "case op.Dot() != d:", "case false:"},
	{"6", "kinds that nobody knows are taken", inReply, "case ServerOnly[op.Kind] && !may.Servers:", "case ServerOnly[op.Kind] || op.Kind != \"note\" && op.Kind != merge.KindPurge:"},
	{"6", "what only servers write comes from no phone", inReply, "case ServerOnly[op.Kind] && !may.Servers:", "case false:"},

	{"7", "without the right nothing is recorded", inReply, "\t\tcase !may.Write:\n", "\t\tcase false:\n"},
	{"7", "without the right nothing is handed back", inReply, "\t\tif !may.Write {\n\t\t\ta.Refused", "\t\tif false {\n\t\t\ta.Refused"},

	{"7", "no purge comes with a copy of somebody who may not purge", inReply, "return r.Kind == merge.KindPurge && !may.Purge &&", "return false && !may.Purge &&"},
	{"purge", "a purge that is covered comes with a keeper's copy", inMerge, "stays := mine.Kind == KindPurge", "stays := false"},
	{"7", "what only servers write is handed back by no phone", inReply, "\t\t\treturn !may.Servers\n", "\t\t\treturn false\n"},
	{"7", "no void is handed back for what was taken", inReply, "return tx.Has(v.Dot) && !may.Servers", "return false"},
	{"5", "a hand-back leaves nothing with nothing to say", inReply, "merge.KeepSaid(r, before)", "_ = before"},
	{"7", "nobody else says how far a server wrote", inReply, "delete(have, may.Own)", "_ = may"},
	{"7", "a vector has a limit", inReply, "if len(names)+fresh > maxReplicas {", "if false {"},

	{"9", "a hub carries ops up", inReply, "r.Frames = append(r.Frames, framesOf(", "_ = append(r.Frames, framesOf("},
	{"9", "a hub hands up what it holds without its ops", inReply, "(beyond || u.Stale || ", "false && (beyond || u.Stale || "},
	{"9", "parts of one cut follow each other", inReply, "u.Parts, u.Begun = u.Parts[1:], true", "u.Parts, u.Begun = u.Parts[len(u.Parts)-1:], true"},
	{"9", "a hub brings what only servers write", inReply, "case ServerOnly[op.Kind] && !may.Servers:", "case ServerOnly[op.Kind]:"},
	{"9", "a void goes up in its place", inReply, "if v, void := tx.Void(d); void {\n\t\t\traw, _ =", "if v, void := tx.Void(d); void {\n\t\t\t_, _ ="},
	{"9", "a relay starts behind what is known by its effect only", inReply, "; ok && l.Before != nil {", "; ok && l.Before != nil && false {"},
	{"9", "a server remembers who relayed", inReply, "Via: f.Via,", "Via: \"\","},
	{"9", "a late answer moves no hub", inReply, "if req.After != u.After || u.Server", "if false && u.Server"},
	{"9", "a hub begins anew with an upstream that is not where it was", inReply, "if a.Wrong != \"\" || u.Server != \"\" && u.Server != a.Server {", "if u.Server != \"\" && u.Server != a.Server {"},
}

// parts says to which part of the design the rules of a group belong: the model
// (4.1) or promises of 4.3. A simulation alone must miss each of those up to 6.
var parts = map[string]string{
	"merge": "4.1, 1", "paging": "4.1, 1", "void": "4.1, 6", "removal": "4.1", "purge": "4.1, 10", "bytes": "4.1", "stamps": "4.1",
	"2": "2", "3": "3", "4": "4", "5": "5", "6": "6", "7": "7", "9": "9",
}

// byTests are rules of the model or of promises 1 to 6 that are seen by a test of the
// sync but by no simulation, with why.
var byTests = map[string]string{
	"another digest at the last acknowledged is no acknowledgement": "a second lock: a server that holds other bytes there says so in the same answer, as a fork, and nothing from there on is taken for acknowledged",
	"a hand-back leaves nothing with nothing to say":                "only a copy that lies brings one that does, and no phone of the worlds lies",
	"what differs from the own ops is somebody else's":              "in the worlds a server goes back silently only while no phone was cloned; and the clone parts later still, when the server can judge",
}

// part names what the rule belongs to.
func (r rule) part() string {
	if part := parts[r.promise]; part != r.promise {
		return part + " " + r.promise
	}
	return r.promise
}

// simulated reports whether a simulation alone must miss the rule.
func (r rule) simulated() bool {
	return r.promise != "7" && r.promise != "9" && byTests[r.name] == ""
}
