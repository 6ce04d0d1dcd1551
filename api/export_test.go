package api

import "strings"

// Routes returns "METHOD /path/{parameter}" of every route but those of HEAD.
func Routes() []string {
	var all []string
	for _, r := range (&service{}).routes() {
		words := strings.Split(r.path, "/")
		for i, w := range words {
			if name, ok := strings.CutPrefix(w, ":"); ok {
				words[i] = "{" + name + "}"
			}
		}
		all = append(all, r.method+" "+strings.Join(words, "/"))
	}
	return all
}
