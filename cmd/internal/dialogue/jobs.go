package dialogue

import (
	"cmp"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"telltale/cmd/internal/pages"
	"telltale/cmd/internal/prompt"
	"telltale/engine"
	"telltale/evidence"
	"telltale/evidence/rig"
	"telltale/evidence/source"
	"telltale/rules"
)

// mostJobs is how many open jobs are offered at once, the youngest first.
const mostJobs = 9

// openJob is a case of the folder that is not closed.
type openJob struct {
	file string // in the folder
	line string
}

// caseFiles lists what may be the cases of a folder, the youngest first. A link out
// of the folder is left out.
func caseFiles(dir string) ([]string, error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, err
	}
	defer root.Close()
	files, err := fs.Glob(root.FS(), "*.yaml")
	if err != nil {
		return nil, err
	}
	age := map[string]int64{}
	files = slices.DeleteFunc(files, func(file string) bool {
		info, err := root.Stat(file)
		if err != nil || !info.Mode().IsRegular() || info.Size() > int64(source.CaseLimits.Bytes) {
			return true
		}
		age[file] = info.ModTime().UnixNano()
		return false
	})
	slices.SortStableFunc(files, func(a, b string) int { return cmp.Compare(age[b], age[a]) })
	return files, nil
}

// openJobs gives the first of some files of a folder that are cases and not closed, at
// most mostJobs of them, and the files behind them. What is no case, or has a mistake,
// is left out.
func openJobs(book *rules.Book, dir string, files []string) (out []openJob, rest []string, err error) {
	root, err := os.OpenRoot(dir)
	if err != nil {
		return nil, nil, err
	}
	defer root.Close()
	for i, file := range files {
		if len(out) == mostJobs {
			return out, files[i:], nil
		}
		text, err := root.ReadFile(file)
		if err != nil {
			continue
		}
		k, err := rig.ParseCase(filepath.Join(dir, file), text, book.Vocabulary())
		if err != nil || k == nil {
			continue
		}
		if r, err := engine.Diagnose(book.WithoutFirmness(), k); err == nil && r.Closed {
			continue // all is settled, and nothing stands open or locked
		}
		out = append(out, openJob{file, jobLine(book, k)})
	}
	return out, nil, nil
}

// jobLine tells one job from another: the pump, how it stands, what was seen first,
// and who wrote last.
func jobLine(book *rules.Book, k *evidence.Case) string {
	name := k.Pump.Name
	if name == "" {
		name = strings.TrimSuffix(filepath.Base(k.File), ".yaml")
	}
	out := fmt.Sprintf("%s: %s", name, k.Pump.State)
	if sign := book.Signs.Get(signOf(k)); sign != nil {
		out += ". " + sign.Title
		if more := len(k.Findings) - 1; more > 0 {
			out += fmt.Sprintf(", and %d more", more)
		}
	} else if n := len(k.Findings); n > 0 {
		out += fmt.Sprintf(", findings: %d", n)
	} else {
		out += ", nothing told yet"
	}
	if k.Job.IsClosed() {
		out += ". " + strings.TrimSuffix(pages.ClosedTooSoon(book, k), ".")
	}
	if n := len(k.Log); n > 0 {
		day, _, _ := strings.Cut(k.Log[n-1].At, "T")
		out += ". Last: " + strings.TrimSpace(day+" "+k.Log[n-1].By)
	}
	return out
}

// Jobs is the talk that comes before a Work, in a folder that is none of a rig: which
// open job it is, or a new one. It is not for several goroutines at once.
type Jobs struct {
	book   *rules.Book
	dir    string
	files  []string    // behind those that were looked at
	lists  [][]openJob // as they were asked for, older ones behind younger ones
	shown  int         // of them
	naming bool
	chosen Chosen
	why    string
}

// NewJobs begins it in a folder. What is no case there, or has a mistake, is left out.
func NewJobs(book *rules.Book, dir string) (*Jobs, error) {
	files, err := caseFiles(dir)
	if err != nil {
		return nil, err
	}
	j := &Jobs{book: book, dir: dir, files: files}
	return j, j.list()
}

// list looks for the next open jobs.
func (j *Jobs) list() error {
	jobs, rest, err := openJobs(j.book, j.dir, j.files)
	if err != nil {
		return err
	}
	j.files, j.lists = rest, append(j.lists, jobs)
	return nil
}

// olderJobs is the id of going on to older jobs, that of no file: it has no ending.
const olderJobs = "older"

// older is the option of going on to them.
var older = option(olderJobs, "an older job")

// newJob is the id of a job that is not there yet.
const newJob = "new"

// Chosen is the job that was chosen or named.
func (j *Jobs) Chosen() Chosen { return j.chosen }

// Prompt gives what is asked now.
func (j *Jobs) Prompt() (prompt.Prompt, error) {
	switch {
	case j.chosen.File != "":
		return prompt.Prompt{ID: "over"}, nil
	case j.naming || len(j.lists[0]) == 0:
		p := prompt.Prompt{ID: "job name", Ask: "A new job. What is the pump called?", Leave: leave, Entry: &prompt.Entry{Blank: "calls the file " + filepath.Base(j.free(unnamedJob))}}
		if len(j.lists[0]) > 0 {
			p.Back = "back to the open jobs"
		}
		if j.why != "" {
			p.News = prompt.Lines(prompt.Text, j.why)
		}
		return p, nil
	}
	p := prompt.Prompt{ID: "job", Ask: "Which job?", Leave: leave}
	if j.shown > 0 {
		p.ID, p.Ask, p.Back = fmt.Sprint("older jobs ", j.shown), "Which older job?", "back to the younger jobs"
	}
	for _, job := range j.lists[j.shown] {
		p.Options = append(p.Options, option(job.file, job.line))
	}
	if len(j.files) > 0 || j.shown+1 < len(j.lists) {
		p.Options = append(p.Options, older)
	}
	p.Options = append(p.Options, option(newJob, "a new one"))
	return p, nil
}

// Answer takes an answer to it; a *prompt.Problem if it is none.
func (j *Jobs) Answer(a prompt.Answer) error {
	p, err := j.Prompt()
	if err != nil {
		return err
	}
	a = a.Clean()
	if problem := p.Check(a); problem != nil {
		return problem
	}
	j.why = ""
	switch {
	case a.One() == newJob:
		j.naming = true
	case a.One() == olderJobs:
		if j.shown+1 == len(j.lists) {
			if err := j.list(); err != nil {
				return err
			}
		}
		j.shown++
	case a.One() == prompt.Back && !j.naming:
		j.shown--
	case a.One() == prompt.Back:
		j.naming = false
	case a.One() != "":
		j.chosen = Chosen{File: filepath.Join(j.dir, a.One()), In: j.dir}
	case a.Text == "":
		j.chosen = Chosen{File: j.free(unnamedJob), In: j.dir}
	case fileName(a.Text) == "":
		j.why = "That has no letter or figure in it."
	default:
		j.chosen = Chosen{File: j.free(fileName(a.Text)), Called: a.Text, In: j.dir}
	}
	return nil
}

func (j *Jobs) free(name string) string { return freeName(filepath.Join(j.dir, name)) }

// freeName is a file of that name that is not there yet: job.yaml, job-2.yaml.
func freeName(name string) string {
	file := name + ".yaml"
	for n := 2; ; n++ {
		if _, err := os.Lstat(file); err != nil {
			return file
		}
		file = fmt.Sprintf("%s-%d.yaml", name, n)
	}
}

// fileName makes the name of a file, without its ending, of what somebody calls a
// job: "Pump 2, wiper" is pump-2-wiper.
func fileName(called string) string {
	words := strings.FieldsFunc(strings.ToLower(called), func(r rune) bool { return !unicode.IsLetter(r) && !unicode.IsDigit(r) })
	if len(words) == 0 {
		return ""
	}
	name := []rune(strings.TrimSuffix(strings.Join(words, "-"), "-yaml"))
	return string(name[:min(len(name), longestName)])
}

// longestName bounds the letters of a file's name.
const longestName = 60
