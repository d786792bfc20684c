package vectors

import "testing"

func TestReadRefuses(t *testing.T) {
	type one struct{ Name string }
	for name, raw := range map[string]string{
		"no cases":         `{"about":"x","cases":[]}`,
		"no list":          `{"about":"x"}`,
		"nothing said":     `{"cases":[{"name":"a"}]}`,
		"unknown case key": `{"about":"x","cases":[{"name":"a","nmae":"b"}]}`,
		"unknown file key": `{"about":"x","cases":[{"name":"a"}],"more":1}`,
	} {
		if _, err := read[one]([]byte(raw)); err == nil {
			t.Errorf("%s was read", name)
		}
	}
	if got, err := read[one]([]byte(`{"about":"x","cases":[{"name":"a"}]}`)); err != nil || len(got) != 1 {
		t.Errorf("a good file: %v, %v", got, err)
	}
}
