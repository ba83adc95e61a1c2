package rig

import (
	"cmp"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path"
	"path/filepath"
	"runtime"
	"slices"
	"strings"
	"sync"

	"telltale/evidence"
	"telltale/evidence/source"
)

// The folders of a rig, and how its files end.
const (
	PumpsFolder = "pumps"
	JobsFolder  = "jobs"
	ending      = ".yaml"
)

// Rig is a folder as it was read.
type Rig struct {
	Dir    string
	Pumps  []Pump   // by name
	Unread []Unread // files that cannot be used, by name
}

// Pump is one pump with its jobs.
type Pump struct {
	*evidence.PumpFile
	Path string
	Jobs []*evidence.Case // the oldest first
}

// Unread is a file that cannot be used, and why.
type Unread struct {
	Path string
	Err  error
}

// Read reads the whole folder of a rig. The error is that of the folder itself: no
// rig, or none that may be read.
func Read(dir string, words evidence.Vocabulary) (*Rig, error) {
	f, err := open(dir)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	out := &Rig{Dir: dir}
	names, err := f.names(PumpsFolder)
	if err != nil {
		return nil, &NoRigError{dir, err}
	}
	for _, name := range names {
		p, err := f.pump(strings.TrimSuffix(name, ending), words)
		if err != nil {
			out.Unread = append(out.Unread, Unread{f.path(PumpsFolder, name), err})
			continue
		}
		out.Pumps = append(out.Pumps, *p)
	}
	out.Unread = append(out.Unread, f.jobs(out.Pumps, words)...)
	slices.SortFunc(out.Unread, func(a, b Unread) int { return cmp.Compare(a.Path, b.Path) })
	return out, nil
}

// Named gives a pump by the name of its file; nil if there is none.
func (r *Rig) Named(name string) *Pump {
	i := slices.IndexFunc(r.Pumps, func(p Pump) bool { return p.Name == name })
	if i < 0 {
		return nil
	}
	return &r.Pumps[i]
}

// NoRigError says that a folder is no rig.
type NoRigError struct {
	Dir string
	Err error
}

// Error says what makes a folder a rig.
func (e *NoRigError) Error() string {
	return fmt.Sprintf("%s is no folder of a rig: it has no folder %s in it that can be read (%s)", e.Dir, PumpsFolder, source.Plain(e.Err))
}

// Unwrap gives what the system said.
func (e *NoRigError) Unwrap() error { return e.Err }

// folder is the folder of a rig, out of which no path leads.
type folder struct {
	*os.Root
	dir string
}

func open(dir string) (*folder, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	return &folder{root, dir}, nil
}

// path is a file as the user would name it.
func (f *folder) path(of, name string) string { return filepath.Join(f.dir, of, name) }

// names lists the YAML files of one of the folders, by name; hidden ones are left
// out.
func (f *folder) names(of string) ([]string, error) {
	entries, err := fs.ReadDir(f.FS(), of)
	if err != nil {
		return nil, err
	}
	var out []string
	for _, e := range entries {
		if name := e.Name(); strings.HasSuffix(name, ending) && !strings.HasPrefix(name, ".") && !e.IsDir() {
			out = append(out, name)
		}
	}
	return out, nil
}

// text reads one file, no more of it than may be.
func (f *folder) text(of, name string) ([]byte, error) {
	info, err := f.Stat(path.Join(of, name))
	if err != nil {
		return nil, source.WhyUnread(f.Root, path.Join(of, name), err)
	}
	if !info.Mode().IsRegular() { // who opens a pipe waits
		return nil, errors.New("it is no ordinary file")
	}
	in, err := f.Open(path.Join(of, name))
	if err != nil {
		return nil, source.WhyUnread(f.Root, path.Join(of, name), err)
	}
	defer in.Close()
	return source.ReadBounded(in, source.CaseLimits)
}

// pump reads what stands of one pump, without its jobs.
func (f *folder) pump(name string, words evidence.Vocabulary) (*Pump, error) {
	if !evidence.IsPumpName(name) {
		return nil, fmt.Errorf("%q is no name of a pump; small letters, figures and hyphens make one, like pump-2", name)
	}
	text, err := f.text(PumpsFolder, name+ending)
	if err != nil {
		return nil, err
	}
	file := f.path(PumpsFolder, name+ending)
	p, err := evidence.ParsePump(file, name, text, words)
	if err != nil {
		return nil, err
	}
	return &Pump{PumpFile: p, Path: file}, nil
}

// jobs reads the jobs of some pumps, and gives those files that cannot be used. A
// file that says nothing of a job is no job, and left alone.
func (f *folder) jobs(pumps []Pump, words evidence.Vocabulary) []Unread {
	names, err := f.names(JobsFolder)
	if err != nil {
		return nil // no job yet
	}
	cases, errs := make([]*evidence.Case, len(names)), make([]error, len(names))
	f.each(len(names), func(i int) { cases[i], errs[i] = f.job(names[i], pumps, words) })
	var unread []Unread
	for i, name := range names {
		if errs[i] != nil {
			unread = append(unread, Unread{f.path(JobsFolder, name), errs[i]})
		}
		if k := cases[i]; k != nil {
			p := named(pumps, k.Job.Pump)
			p.Jobs = append(p.Jobs, k)
		}
	}
	for i := range pumps {
		slices.SortStableFunc(pumps[i].Jobs, earlier)
		pumps[i].History, pumps[i].Others = history(&pumps[i]), evidence.JobsThatMayHold(pumps[i].Jobs)
	}
	return append(unread, f.again(pumps, words)...)
}

func named(pumps []Pump, name string) *Pump {
	i := slices.IndexFunc(pumps, func(p Pump) bool { return p.Name == name })
	if i < 0 {
		return nil
	}
	return &pumps[i]
}

// job reads one job without what the jobs before it changed; nil without an error
// if it is of no pump of these.
func (f *folder) job(name string, pumps []Pump, words evidence.Vocabulary) (*evidence.Case, error) {
	text, err := f.text(JobsFolder, name)
	if err != nil {
		return nil, err
	}
	var ps source.Problems
	root := source.Parse(f.path(JobsFolder, name), text, source.CaseLimits, &ps)
	if root == nil {
		return nil, ps.Err()
	}
	if root.Value("job") == nil {
		ps.Add(root.Pos, source.Missing, "a file in %s without job: is of no pump; expected job: {pump: NAME, date: YEAR-MONTH-DAY}", JobsFolder)
		return nil, ps.Err()
	}
	if p := named(pumps, evidence.PumpOf(root)); p != nil {
		words.Pump = p.PumpFile
	}
	k := evidence.ReadCase(root, words, &ps)
	if err := ps.Err(); err != nil {
		return nil, err
	}
	if k.Job.IsClosed() {
		k.Text = nil // there are many of them: their lines are not kept
	}
	return k, nil
}

// again reads open jobs anew now that it is known what was changed before them.
func (f *folder) again(pumps []Pump, words evidence.Vocabulary) (unread []Unread) {
	for i := range pumps {
		words.Pump = pumps[i].PumpFile
		for j, k := range pumps[i].Jobs {
			if k.Job.IsClosed() {
				continue
			}
			name := filepath.Base(k.File)
			now, err := f.job(name, pumps, words)
			switch {
			case err != nil:
				unread = append(unread, Unread{f.path(JobsFolder, name), err})
			case now != nil:
				pumps[i].Jobs[j] = now
			}
		}
	}
	return unread
}

// earlier orders jobs by their dates, and by the meter within a day.
func earlier(a, b *evidence.Case) int {
	hours := func(k *evidence.Case) float64 {
		if k.Job.Hours == nil {
			return 0
		}
		return k.Job.Hours.SI
	}
	return cmp.Or(a.Job.Date.Compare(b.Job.Date), cmp.Compare(hours(a), hours(b)), cmp.Compare(a.File, b.File))
}

// history is what the jobs of a pump changed, in order of its hours.
func history(p *Pump) (out []evidence.Changed) {
	for _, k := range p.Jobs {
		for _, part := range k.Changed {
			out = append(out, evidence.Changed{NewPart: part, Date: k.Job.Date, Hours: p.Total(k.Job.Date, *k.Job.Hours)})
		}
	}
	slices.SortStableFunc(out, func(a, b evidence.Changed) int { return cmp.Compare(a.Hours, b.Hours) })
	return out
}

// each does something for every one of n on all processors.
func (f *folder) each(n int, do func(int)) {
	var group sync.WaitGroup
	next := make(chan int)
	for range runtime.GOMAXPROCS(0) {
		group.Go(func() {
			for i := range next {
				do(i)
			}
		})
	}
	for i := range n {
		next <- i
	}
	close(next)
	group.Wait()
}

// Is says whether a folder is one of a rig: pumps stand in it.
func Is(dir string) bool {
	info, err := os.Stat(filepath.Join(dir, PumpsFolder))
	return err == nil && info.IsDir()
}

// BookFolder is the folder in a rig in which its own book lies: what a person
// accepted of its counts and added to it.
const BookFolder = "book"

// Book is the folder of the own book of the rig in whose folder of jobs a file lies;
// "" if it lies in none, or the rig has no book.
func Book(file string) string {
	jobs := filepath.Dir(absolute(file))
	if filepath.Base(jobs) != JobsFolder {
		return ""
	}
	return BookIn(filepath.Dir(jobs))
}

// BookIn is the folder of the own book of a rig; "" if it is no rig, or has none.
func BookIn(dir string) string {
	book := filepath.Join(dir, BookFolder)
	if info, err := os.Stat(book); !Is(dir) || err != nil || !info.IsDir() {
		return ""
	}
	return book
}

// NoPumpError says that the pump of a job has no file.
type NoPumpError struct {
	Job, File string
	Err       error
}

// Error says which file is wanted.
func (e *NoPumpError) Error() string {
	return fmt.Sprintf("%s is a job on a pump of a rig; expected the pump's file at %s, which is not there", e.Job, e.File)
}

// Unwrap gives what the system said.
func (e *NoPumpError) Unwrap() error { return e.Err }

// Words gives the words with which the case of a file is read: of a job on a pump of
// a rig also what stands of the pump, what the jobs before it changed, and what other
// jobs say that may hold it. The rig
// is the folder above that of the file.
//
// The error is that of the pump's file. A job beside it that cannot be read is not
// counted; Read names it.
func Words(file string, text []byte, words evidence.Vocabulary) (evidence.Vocabulary, error) {
	var ps source.Problems
	root := source.Parse(file, text, source.CaseLimits, &ps)
	name := evidence.PumpOf(root)
	if name == "" {
		return words, nil
	}
	f, err := open(filepath.Join(filepath.Dir(file), ".."))
	if err != nil {
		return words, err
	}
	defer f.Close()
	p, err := f.pump(name, words)
	var unread *source.UnreadError
	switch at := f.path(PumpsFolder, name+ending); {
	case errors.As(err, &unread) && unread.Link == "" && errors.Is(err, fs.ErrNotExist):
		return words, &NoPumpError{file, at, err}
	case unread != nil:
		return words, fmt.Errorf("%s: %w", at, err)
	case err != nil:
		return words, err
	}
	pumps := []Pump{*p}
	if filepath.Base(filepath.Dir(absolute(file))) == JobsFolder {
		f.jobs(pumps, words)
		// by its name now: whoever writes the job may give it another one
		pumps[0].Others = slices.DeleteFunc(pumps[0].Others, func(o evidence.OtherJob) bool { return filepath.Base(o.File) == filepath.Base(file) })
	}
	words.Pump = pumps[0].PumpFile
	return words, nil
}

// ParseCase reads the case of a file as evidence.ParseCase does, with what Words adds.
func ParseCase(file string, text []byte, words evidence.Vocabulary) (*evidence.Case, error) {
	words, err := Words(file, text, words)
	if err != nil {
		return nil, err
	}
	return evidence.ParseCase(file, text, words)
}

func absolute(file string) string {
	if abs, err := filepath.Abs(file); err == nil {
		return abs
	}
	return file
}
