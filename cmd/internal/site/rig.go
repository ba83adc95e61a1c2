package site

import (
	"crypto/sha256"
	"errors"
	"fmt"
	"html/template"
	"io/fs"
	"net/http"
	"net/url"
	"path"
	"path/filepath"
	"sync"
	"time"

	"telltale/cmd/internal/pages"
	"telltale/engine/upkeep"
	"telltale/evidence"
	"telltale/evidence/rig"
)

// rigRead is a rig as it was read last.
type rigRead struct {
	sync.Mutex
	of  string // names its files, as they were
	rig *rig.Rig
}

// readRig reads the folder of a rig, or gives what it read last where no file was
// written since. Nobody may change what it gives.
func (s *Site) readRig() (*rig.Rig, error) {
	if !s.isRig() {
		return nil, &notFoundError{"This folder is not that of a rig: it has no folder " + rig.PumpsFolder + " in it."}
	}
	s.rig.Lock()
	defer s.rig.Unlock()
	begun := time.Now()
	of, last := s.filesOf(rig.PumpsFolder, rig.JobsFolder)
	if s.rig.rig != nil && s.rig.of == of {
		return s.rig.rig, nil
	}
	read, err := rig.Read(s.dir, s.book.Vocabulary())
	if err != nil {
		return nil, err
	}
	if s.rig.rig = nil; last.Before(begun.Add(-settled)) {
		s.rig.of, s.rig.rig = of, read
	}
	return read, nil
}

// settled is how old the youngest file must be so that a later write shows in its time:
// file systems count in steps of up to two seconds.
const settled = 3 * time.Second

// filesOf names all files of some folders with their sizes and times, and says when the
// youngest was written.
func (s *Site) filesOf(folders ...string) (names string, last time.Time) {
	sum := sha256.New()
	for _, folder := range folders {
		entries, err := fs.ReadDir(s.root.FS(), folder)
		fmt.Fprintln(sum, folder, err)
		for _, e := range entries {
			info, err := s.root.Stat(path.Join(folder, e.Name()))
			if err != nil {
				fmt.Fprintln(sum, e.Name(), err)
				continue
			}
			fmt.Fprintln(sum, e.Name(), info.Size(), info.Mode(), info.ModTime().UnixNano())
			if info.ModTime().After(last) {
				last = info.ModTime()
			}
		}
	}
	return string(sum.Sum(nil)), last
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
			if u.Path == filepath.Join(s.dir, rig.PumpsFolder, r.PathValue("pump")+ending) {
				return fmt.Errorf("%s: %w", rig.PumpsFolder+"/"+filepath.Base(u.Path), u.Err)
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

// home is the first page: which job, as the talk asks it, and of a rig all its pumps.
func (s *Site) home(w http.ResponseWriter, _ *http.Request) error {
	return s.putHome(w, nil, nil)
}

// putHome shows it; refused is why an answer was not taken, nil where none was given.
func (s *Site) putHome(w http.ResponseWriter, form url.Values, refused error) error {
	choice, err := s.choice()
	if err != nil {
		return err
	}
	over, status := put{Address: newAddress}, http.StatusOK
	if over.Prompt, err = choice.Prompt(); err != nil {
		return err
	}
	if refused != nil {
		status = over.refused(refused, form, nil)
	}
	body := struct {
		Title  string
		Put    *put
		Report template.HTML
		Rig    bool
	}{Title: "Jobs", Put: &over, Rig: s.isRig()}
	if body.Rig {
		body.Title = "Rig and jobs"
		if body.Report, err = s.rigReport(); err != nil {
			return err
		}
	}
	return s.show(w, status, "home", shell{Title: body.Title, Body: body})
}

// rigReport is all pumps of the rig, the worst first.
func (s *Site) rigReport() (template.HTML, error) {
	all, err := s.readRig()
	if err != nil {
		return "", err
	}
	report, err := upkeep.OfRig(s.book, all, upkeep.Options{Now: s.now(), Brief: true})
	if err != nil {
		return "", err
	}
	return part(pages.Rig(report, s.book))
}
