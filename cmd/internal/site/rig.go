package site

import (
	"errors"
	"net/http"
	"time"

	"telltale/cmd/internal/doc"
	"telltale/cmd/internal/pages"
	"telltale/engine/upkeep"
	"telltale/evidence"
	"telltale/evidence/rig"
)

// readRig reads the folder of a rig.
func (s *Site) readRig() (*rig.Rig, error) {
	if !s.isRig() {
		return nil, &notFoundError{"This folder is not that of a rig: it has no folder " + rig.PumpsFolder + " in it."}
	}
	return rig.Read(s.dir, s.book.Vocabulary())
}

// pumpPage tells of one pump over its hours.
func (s *Site) pumpPage(w http.ResponseWriter, r *http.Request) error {
	all, err := s.readRig()
	if err != nil {
		return err
	}
	p := all.Named(r.PathValue("pump"))
	if p == nil {
		for _, u := range all.Unread {
			if u.Path == s.pumpFile(r.PathValue("pump")) {
				return u.Err
			}
		}
		return &notFoundError{"There is no pump of that name on this rig."}
	}
	report, err := upkeep.Of(s.book, p, upkeep.Options{Now: s.now()})
	if err != nil {
		return err
	}
	return s.document(w, r, pages.Pump(report, s.book))
}

// stopPage plans one stop for all of the rig.
func (s *Site) stopPage(w http.ResponseWriter, r *http.Request) error {
	hours, err := evidence.ParseQuantity(r.URL.Query().Get("hours"), evidence.Duration)
	if bare, bareErr := evidence.ParseQuantity(r.URL.Query().Get("hours")+" h", evidence.Duration); err != nil && bareErr == nil {
		hours, err = bare, nil
	}
	if err == nil && (hours.In("h") <= 0 || hours.In("h") > upkeep.MostStop) {
		err = errors.New("it is not between 0 and 1000 hours")
	}
	if err != nil {
		return errors.New("How long is the stop? " + err.Error() + ". Expected a time like 12 h.")
	}
	all, err := s.readRig()
	if err != nil {
		return err
	}
	plan, err := upkeep.OfStop(s.book, all, upkeep.Options{Now: s.now()}, hours.In("h"))
	if err != nil {
		return err
	}
	return s.document(w, r, pages.PlannedStop(plan, s.book))
}

// home is the first page: the open jobs, the way to a new one, and of a rig all its
// pumps.
func (s *Site) home(w http.ResponseWriter, r *http.Request) error {
	body := struct {
		Rig  bool
		Jobs []way
		Body any
	}{Rig: s.isRig()}
	return s.show(w, http.StatusOK, "home", shell{Title: "Jobs", Body: body})
}

var _ = time.Now
var _ = doc.Said
