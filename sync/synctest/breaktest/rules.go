package main

const (
	inMerge = "sync/merge"
	inReply = "sync/replication"
	inOps   = "sync/ops"
)

// The nine rules of merge and paging, then those of voids, purge and removal,
// then the promises' own.
var rules = []rule{
	{"merge", "an op that was replaced before it came stays away", inMerge,
		"f.Dead = slices.Delete(f.Dead, i, i+1)\n\t\t\tcontinue", "f.Dead = slices.Delete(f.Dead, i, i+1)"},
	{"merge", "an op takes away what it names", inMerge, "\tf.drop(d)\n\tif !ctx.Has(d)", "\tif !ctx.Has(d)"},
	{"merge", "what is named before it came is remembered", inMerge, "if !ctx.Has(d) && !slices.Contains(f.Dead, d) {", "if false {"},
	{"merge", "what they cover and lack is dropped", inMerge, "if t.live(v.Dot) < 0 && theirC.Has(v.Dot) {", "if false {"},
	{"merge", "dead dots travel with their record", inMerge, "\t\tfor _, d := range dead {\n\t\t\tf.kill(d, ctx)\n\t\t}\n\t\tif len(f.Live)", "\t\t_ = dead\n\t\tif len(f.Live)"},
	{"merge", "what is dead here does not come with a page", inMerge, "&& !slices.Contains(f.Dead, v.Dot) {\n\t\t\t\tf.add(v)", "{\n\t\t\t\tf.add(v)"},
	{"merge", "the newest is first, whoever says so", inMerge, "slices.BinarySearchFunc(f.Live, v, newestFirst)", "0, true"},
	{"paging", "pages are read under the vector at which reading began", inReply, "a.Have = tx.VectorAt(a.Reading)", "a.Have = tx.Vector().Clone()"},
	{"paging", "the cursor goes no further than that vector", inReply, "a.UpTo = a.Reading", "a.UpTo = head"},
	{"paging", "the vector is raised only with the last page", inReply, "\tif !a.More {\n\t\tp.Base.Raise(a.Have)", "\tp.Base.Raise(a.Have)\n\tif !a.More {"},
	{"paging", "the vector is raised at all", inReply, "\t\tp.Base.Raise(a.Have)\n", ""},
	{"void", "who names a void replaces what it would have", inMerge, "if v, ok := ctx.Void(all[i]); ok {", "if v, ok := ctx.Void(all[i]); ok && false {"},
	{"void", "a void that comes late does so too", inMerge, "\t\tif slices.Contains(f.Dead, v.Dot) {\n\t\t\tfor _, d := range named", "\t\tif false {\n\t\t\tfor _, d := range named"},
	{"void", "a void held as real is dropped", inMerge, "\t\tif f.live(v.Dot) >= 0 {\n\t\t\tf.drop(v.Dot)", "\t\tif false {\n\t\t\tf.drop(v.Dot)"},
	{"void", "what only a void replaced may come back", inMerge, " && !ctx.Revived(name, v.Dot)", ""},
	{"purge", "a purged op is taken without its value", inMerge, "\t\tif ctx.Purged(v.Dot) {\n\t\t\tv.Value = nil\n\t\t}\n\t\tf.add(v)", "\t\tf.add(v)"},
	{"purge", "a purged value never comes back with a record", inMerge, "\t\t\tif ctx.Purged(v.Dot) {\n\t\t\t\tv.Value = nil\n\t\t\t}\n\t\t\tif i :=", "\t\t\tif i :="},
	{"3", "an op that is known is not taken again", inReply, "\t\tif n > known {\n\t\t\tbreak", "\t\tif n >= known {\n\t\t\tbreak"},
	{"4", "own dots in over get the new name too", inReply, "over[name][i] = to(d)", "over[name][i] = d"},
	{"4", "who sees more under its own name takes another", inReply, "if bears(p.Replica, p.Base.C[p.Replica].N, a.Have, records) {", "if false {"},
	{"4", "a replica writes to one server", inReply, "\tp.turn(server, c)\n", "\tp.Home = server\n"},
	{"4", "to a server not known yet nothing is sent", inReply, "if c == nil {\n\t\tr.Server", "if c == nil {\n\t\tfor _, o := range p.Outbox {\n\t\t\tr.Ops = append(r.Ops, o.Op.Bytes())\n\t\t}\n\t\tr.Server"},
	{"5", "the copy hands back what the server lacks", inReply, "if r := p.Base.Records[k]; r.Beyond(c) || doubt[k] {", "if r := p.Base.Records[k]; doubt[k] {"},
	{"5", "what the server holds and we know as replaced is handed back", inReply, "\tp.doubt(c, records)\n", ""},
	{"5", "after a hand-back all is given out once more", inReply, "\tif b.Last && len(more) > 0 {\n\t\tsettle(tx)", "\tif false {\n\t\tsettle(tx)"},
	{"5", "turning to a server asks what it lacks", inReply, "c.Ask = true // what another", "// what another"},
	{"5", "after a new epoch another name", inReply, "\tif p.Home == a.Server {\n\t\tp.Home = \"\"\n\t}\n", ""},
	{"6", "a refusal for good leaves a void and the counter goes on", inReply, "\t\ttx.Append(d, l)\n\t\ttakeVoid(tx, v)\n", "\t\ttakeVoid(tx, v)\n"},
	{"6", "the words of a refused op are kept", inReply, "p.Needs = append(p.Needs, Needed{o.Op, reason})", "_ = reason"},
	{"7", "without the right nothing is recorded", inReply, "\t\tcase !may.Write:\n", "\t\tcase false:\n"},
	{"7", "what is refused for now stays in the outbox", inReply, "end = min(end, r.N)", "_ = r.N"},
	{"bytes", "the limit of an op is a limit", inOps, "if len(raw) > MaxOpBytes {", "if false {"},
}
