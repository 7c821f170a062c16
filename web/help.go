package web

import (
	"html/template"
	"net/http"
	"path"

	"knownwater/docs"
	"knownwater/web/page"
)

// helpPage is the manual's list, or one page of it.
type helpPage struct {
	Topic  docs.Topic
	Text   template.HTML
	Groups []helpGroup
	Sought string // a word that nothing was found for
}

type helpGroup struct {
	Name   string
	Topics []docs.Topic
}

// help is the list of the manual's pages; asked for a word, it leads to where that is
// explained.
func (s *Server) help(w http.ResponseWriter, r *http.Request) {
	word := r.FormValue("word")
	if at, ok := docs.Find(word); ok {
		http.Redirect(w, r, at.Address(), http.StatusSeeOther)
		return
	}
	p := helpPage{Sought: word}
	for _, name := range docs.Groups {
		p.Groups = append(p.Groups, helpGroup{Name: name})
	}
	for _, t := range docs.Topics() {
		for i := range p.Groups {
			if p.Groups[i].Name == t.Group {
				p.Groups[i].Topics = append(p.Groups[i].Topics, t)
			}
		}
	}
	s.Show(w, r, http.StatusOK, "help", page.Frame{Heading: "Help", Part: "help", Page: p})
}

func (s *Server) helpOn(w http.ResponseWriter, r *http.Request) {
	topic, text, ok := docs.Page(r.PathValue("topic"))
	if !ok {
		s.NotFound(w, r)
		return
	}
	s.Show(w, r, http.StatusOK, "help", page.Frame{Title: topic.Title, Part: "help", Page: helpPage{Topic: topic, Text: text}})
}

func (s *Server) helpPicture(w http.ResponseWriter, r *http.Request) {
	data, ok := docs.Picture(r.PathValue("name"))
	if !ok {
		s.NotFound(w, r)
		return
	}
	kind := "image/png"
	if path.Ext(r.PathValue("name")) == ".svg" {
		kind = "image/svg+xml"
	}
	w.Header().Set("Content-Type", kind)
	w.Header().Set("Cache-Control", "public, max-age=600")
	w.Write(data)
}
