package site

import (
	"errors"
	"io/fs"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"strings"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/evidence/rig"
	"telltale/rules"
)

// Site is the pages over one folder: that of a rig, or one of cases. Its pages may be
// asked for by several at once.
type Site struct {
	book  *rules.Book
	dir   string
	root  *os.Root // no page reads or writes outside of it
	now   func() time.Time
	nonce func(*http.Request) string
	desks desks
	seen  seen
	rig   rigRead
}

// New makes the pages over a folder; whoever has it closes it. nonce gives what the
// style of the answer to a request carries, so that a browser takes it. The error is
// that of the folder.
func New(book *rules.Book, dir string, now func() time.Time, nonce func(*http.Request) string) (*Site, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	return &Site{book: book, dir: dir, root: root, now: now, nonce: nonce, desks: newDesks()}, nil
}

// Close lets the folder go.
func (s *Site) Close() error { return s.root.Close() }

// Handler gives the pages.
func (s *Site) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.HandleFunc("GET "+styleAddress, asset(style, "text/css; charset=utf-8"))
	mux.HandleFunc("GET "+scriptAddress, asset(script, "text/javascript; charset=utf-8"))
	for pattern, page := range map[string]func(w http.ResponseWriter, r *http.Request) error{
		"GET /{$}":                                  s.home,
		"POST /new":                                 s.answerHome,
		"GET /new/{id}":                             s.showNew,
		"POST /new/{id}":                            s.answerNew,
		"GET /job/{job}":                            s.showJob,
		"POST /job/{job}":                           s.answerJob,
		"GET /job/{job}/{of}":                       s.jobPage,
		"GET /job/{job}/readings":                   s.readingsIndex,
		"GET /job/{job}/known":                      s.showKnown,
		"POST /job/{job}/known":                     s.putRight,
		"GET /job/{job}/{of}/{block}/{place}":       s.showReadings,
		"POST /job/{job}/{of}/{block}/{place}":      s.answerReadings,
		"POST /job/{job}/{of}/{block}/{place}/draw": s.drawReadings,
		"GET /pump/{pump}":                          s.pumpPage,
		"GET /practice":                             s.showPractice,
		"POST /practice":                            s.beginPractice,
		"GET /practice/progress":                    s.practiceProgress,
		"GET /practice/{id}":                        s.showLesson,
		"POST /practice/{id}":                       s.answerLesson,
		"GET /practice/{id}/review":                 s.lessonReview,
		"GET /forms":                                s.formsPage,
		"GET /forms/{form}/{pump}":                  s.formPage,
		"GET /stop":                                 s.stopPage,
		"GET /rulebook":                             s.bookPage,
		"GET /rulebook/{id}":                        s.bookEntry,
		"/":                                         func(http.ResponseWriter, *http.Request) error { return &notFoundError{"There is no such page."} },
	} {
		mux.HandleFunc(pattern, s.page(page))
	}
	return mux
}

// notFoundError says that what an address names is not there.
type notFoundError struct{ text string }

func (e *notFoundError) Error() string { return e.text }

// sentence is an error that is told whole.
type sentence string

func (s sentence) Error() string { return string(s) }

// page makes a handler of one that gives an error instead of a page.
func (s *Site) page(give func(http.ResponseWriter, *http.Request) error) http.HandlerFunc {
	return func(w http.ResponseWriter, r *http.Request) {
		err := give(w, r)
		var none *notFoundError
		var large *http.MaxBytesError
		switch {
		case err == nil:
		case errors.As(err, &none), errors.Is(err, fs.ErrNotExist):
			s.trouble(w, r, http.StatusNotFound, "Not found", err)
		case errors.As(err, &large):
			s.trouble(w, r, http.StatusRequestEntityTooLarge, "Too long", sentence("That is more than can be sent at once. Nothing was written."))
		default:
			s.trouble(w, r, http.StatusUnprocessableEntity, "It goes no further", err)
		}
	}
}

// isRig says whether the folder is one of a rig.
func (s *Site) isRig() bool {
	info, err := s.root.Stat(rig.PumpsFolder)
	return err == nil && info.IsDir()
}

// ending is how a case file ends.
const ending = ".yaml"

// file is the file of a job that an address names: of a rig in its folder of jobs. No
// name leads out of the folder, by a link neither.
func (s *Site) file(name string) (string, error) {
	if name == "" || strings.HasPrefix(name, ".") || strings.ContainsAny(name, `/\`) || !filepath.IsLocal(name) {
		return "", &notFoundError{"There is no job of that name."}
	}
	within := name + ending
	if s.isRig() {
		within = filepath.Join(rig.JobsFolder, within)
	}
	info, err := s.root.Stat(within)
	if err != nil || !info.Mode().IsRegular() {
		return "", &notFoundError{"There is no job " + doc.Shown(name) + " in this folder."}
	}
	return filepath.Join(s.dir, within), nil
}

// jobAddress is where a job is found.
func jobAddress(file string) string {
	return "/job/" + url.PathEscape(strings.TrimSuffix(filepath.Base(file), ending))
}

// addressOf is where a page tells of what a document names; "" if none does.
func addressOf(ref doc.Ref) string {
	switch ref.Kind {
	case "job":
		return jobAddress(ref.ID)
	case "pump":
		return "/pump/" + url.PathEscape(ref.ID)
	case "form":
		return formsAddress + "/" + ref.ID
	}
	return "/rulebook/" + url.PathEscape(ref.ID)
}
