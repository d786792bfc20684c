package main

const (
	record = "sync/merge/record.go"
	state  = "sync/merge/state.go"
	serve  = "sync/replication/serve.go"
	phone  = "sync/replication/phone.go"
	op     = "sync/ops/op.go"
)

// The nine rules of merge and paging, then those of voids, purge and removal,
// then the promises' own.
var rules = []rule{
	{"merge", "an op that was replaced before it came stays away", record,
		"f.Dead = slices.Delete(f.Dead, i, i+1)\n\t\t\tcontinue", "f.Dead = slices.Delete(f.Dead, i, i+1)"},
	{"merge", "an op takes away what it names", record, "\tf.drop(d)\n\tif !ctx.Has(d)", "\tif !ctx.Has(d)"},
	{"merge", "what is named before it came is remembered", record, "if !ctx.Has(d) && !slices.Contains(f.Dead, d) {", "if false {"},
	{"merge", "what they cover and lack is dropped", record, "if t.live(v.Dot) < 0 && theirC.Has(v.Dot) {", "if false {"},
	{"merge", "dead dots travel with their record", record, "\t\tfor _, d := range dead {\n\t\t\tf.kill(d, ctx)\n\t\t}\n\t\tif len(f.Live)", "\t\t_ = dead\n\t\tif len(f.Live)"},
	{"merge", "what is dead here does not come with a page", record, "&& !slices.Contains(f.Dead, v.Dot) {\n\t\t\t\tf.add(v)", "{\n\t\t\t\tf.add(v)"},
	{"merge", "the newest is first, whoever says so", record, "slices.BinarySearchFunc(f.Live, v, newestFirst)", "0, true"},
	{"paging", "pages are read under the vector at which reading began", serve, "a.Have = tx.VectorAt(a.Reading)", "a.Have = tx.Vector().Clone()"},
	{"paging", "the cursor goes no further than that vector", serve, "a.UpTo = a.Reading", "a.UpTo = head"},
	{"paging", "the vector is raised only with the last page", phone, "\tif !a.More {\n\t\tp.Base.Raise(a.Have)", "\tp.Base.Raise(a.Have)\n\tif !a.More {"},
	{"paging", "the vector is raised at all", phone, "\t\tp.Base.Raise(a.Have)\n", ""},
	{"void", "who names a void replaces what it would have", record, "if v, ok := ctx.Void(all[i]); ok {", "if v, ok := ctx.Void(all[i]); ok && false {"},
	{"void", "a void that comes late does so too", record, "\t\tif slices.Contains(f.Dead, v.Dot) {\n\t\t\tfor _, d := range named", "\t\tif false {\n\t\t\tfor _, d := range named"},
	{"void", "a void held as real is dropped", record, "\t\tif f.live(v.Dot) >= 0 {\n\t\t\tf.drop(v.Dot)", "\t\tif false {\n\t\t\tf.drop(v.Dot)"},
	{"void", "what only a void replaced may come back", record, " && !ctx.Revived(name, v.Dot)", ""},
	{"purge", "a purged op is taken without its value", record, "\t\tif ctx.Purged(v.Dot) {\n\t\t\tv.Value = nil\n\t\t}\n\t\tf.add(v)", "\t\tf.add(v)"},
	{"purge", "a purged value never comes back with a record", record, "\t\t\tif ctx.Purged(v.Dot) {\n\t\t\t\tv.Value = nil\n\t\t\t}\n\t\t\tif i :=", "\t\t\tif i :="},
	{"3", "an op that is known is not taken again", serve, "\t\tif n <= known.N {\n\t\t\tat, ok", "\t\tif n < known.N {\n\t\t\tat, ok"},
	{"4", "own dots in over get the new name too", phone, "over[name][i] = to(d)", "over[name][i] = d"},
	{"4", "who sees more under its own name takes another", phone, "if p.bearsOurName(a.Have, records) {", "if false {"},
	{"4", "a replica writes to one server", phone, "\tp.turn(server, c)\n", "\tp.Home = server\n"},
	{"4", "to a server not known yet nothing is sent", phone, "if c == nil {\n\t\tr.Server", "if c == nil {\n\t\tfor _, o := range p.Outbox {\n\t\t\tr.Ops = append(r.Ops, o.Op.Bytes())\n\t\t}\n\t\tr.Server"},
	{"5", "the copy hands back what the server lacks", phone, "if r := p.Base.Records[k]; r.Beyond(c) || doubt[k] {", "if r := p.Base.Records[k]; doubt[k] {"},
	{"5", "what the server holds and we know as replaced is handed back", phone, "\tp.doubt(c, records)\n", ""},
	{"5", "after a hand-back all is given out once more", serve, "\tif b.Last && len(more) > 0 {\n\t\tsettle(tx)", "\tif false {\n\t\tsettle(tx)"},
	{"5", "turning to a server asks what it lacks", phone, "c.Ask = true // what another", "// what another"},
	{"5", "after a new epoch another name", phone, "\tif p.Home == a.Server {\n\t\tp.Home = \"\"\n\t}\n", ""},
	{"6", "a refusal for good leaves a void and the counter goes on", serve, "\t\ttx.Append(d, l)\n\t\ttakeVoid(tx, v)\n", "\t\ttakeVoid(tx, v)\n"},
	{"6", "the words of a refused op are kept", phone, "p.Needs = append(p.Needs, Needed{o.Op, reason})", "_ = reason"},
	{"7", "without the right nothing is recorded", serve, "\tif !may.Write {\n\t\trefuse(", "\tif false {\n\t\trefuse("},
	{"7", "what is refused for now stays in the outbox", phone, "end = min(end, r.N)", "_ = r.N"},
	{"bytes", "the limit of an op is a limit", op, "if len(raw) > MaxOpBytes {", "if false {"},
}
