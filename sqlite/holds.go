package sqlite

import (
	"database/sql/driver"
	"encoding/json"
	"strings"

	engine "modernc.org/sqlite"
)

// holds(words, text) is a function for statements: whether a text holds every word of a JSON
// list, small and capital letters of any alphabet alike (SQLite's own functions fold only those
// of English).
func init() {
	engine.MustRegisterDeterministicScalarFunction("holds", 2, func(_ *engine.FunctionContext, args []driver.Value) (driver.Value, error) {
		list, _ := args[0].(string)
		text, _ := args[1].(string)
		var words []string
		if err := json.Unmarshal([]byte(list), &words); err != nil {
			return nil, err
		}
		text = strings.ToLower(text)
		for _, w := range words {
			if !strings.Contains(text, strings.ToLower(w)) {
				return int64(0), nil
			}
		}
		return int64(1), nil
	})
}

// Words are what holds looks for.
func Words(words []string) string {
	list, err := json.Marshal(append([]string{}, words...))
	if err != nil { // text always marshals
		panic(err)
	}
	return string(list)
}
