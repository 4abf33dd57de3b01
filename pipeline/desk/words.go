package desk

import (
	"encoding/json"
	"net/http"

	"tracewheel/pipeline/lessons"
)

// words answers a line of a draft with the words of the language in it, each with a link to its example.
func words(w http.ResponseWriter, r *http.Request) {
	found, err := lessons.WordsOf(r.URL.Query().Get("line"))
	if err != nil {
		http.Error(w, err.Error(), http.StatusInternalServerError)
		return
	}
	if found == nil {
		found = []lessons.Word{}
	}
	w.Header().Set("Content-Type", "application/json")
	_ = json.NewEncoder(w).Encode(found) // the browser may be gone
}
