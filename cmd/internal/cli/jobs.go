package cli

import (
	"cmp"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"unicode"

	"telltale/cmd/internal/prompt"
	"telltale/engine"
	"telltale/evidence"
	"telltale/evidence/source"
	"telltale/rules"
)

// mostJobs is how many open jobs are offered, the youngest first.
const mostJobs = 9

// openJob is a case of the folder that is not closed.
type openJob struct {
	file string
	line string
}

// openJobs lists the cases of a folder that are not closed, the youngest first.
// What is no case, or has a mistake, is left out.
func openJobs(book *rules.Book, dir string) ([]openJob, error) {
	files, err := filepath.Glob(filepath.Join(dir, "*.yaml"))
	if err != nil {
		return nil, err
	}
	age := map[string]int64{}
	files = slices.DeleteFunc(files, func(file string) bool {
		info, err := os.Stat(file)
		if err != nil || !info.Mode().IsRegular() || info.Size() > int64(source.CaseLimits.Bytes) {
			return true
		}
		age[file] = info.ModTime().UnixNano()
		return false
	})
	slices.SortStableFunc(files, func(a, b string) int { return cmp.Compare(age[b], age[a]) })
	var out []openJob
	for _, file := range files {
		if len(out) == mostJobs {
			break
		}
		text, err := os.ReadFile(file)
		if err != nil {
			continue
		}
		k, err := parseCase(file, text, book)
		if err != nil || k == nil {
			continue
		}
		if r, err := engine.Diagnose(book.WithoutFirmness(), k); err == nil && r.Closed {
			continue
		}
		out = append(out, openJob{file, jobLine(k)})
	}
	return out, nil
}

// jobLine tells one job from another.
func jobLine(k *evidence.Case) string {
	name := k.Pump.Name
	if name == "" {
		name = strings.TrimSuffix(filepath.Base(k.File), ".yaml")
	}
	out := fmt.Sprintf("%s: %s, findings: %d", name, k.Pump.State, len(k.Findings))
	if n := len(k.Log); n > 0 {
		out += ", last " + strings.TrimSpace(k.Log[n-1].At+" "+k.Log[n-1].By)
	}
	return out
}

// jobChoice is the talk that comes before ask has a file: which job it is.
type jobChoice struct {
	jobs   []openJob
	naming bool
	file   string
	called string // what a new one is called, "" if nobody said
	why    string
}

// newJob is the id of a job that is not there yet.
const newJob = "new"

// Prompt is as of talk.Conversation.
func (c *jobChoice) Prompt() (prompt.Prompt, error) {
	switch {
	case c.file != "":
		return prompt.Prompt{ID: "over"}, nil
	case c.naming || len(c.jobs) == 0:
		p := prompt.Prompt{ID: "job name", Ask: "A new job. What is the pump called?", Leave: "leave", Entry: &prompt.Entry{Blank: "calls the file " + freeName("job")}}
		if len(c.jobs) > 0 {
			p.Back = "back to the open jobs"
		}
		if c.why != "" {
			p.News = prompt.Lines(prompt.Text, c.why)
		}
		return p, nil
	}
	p := prompt.Prompt{ID: "job", Ask: "Which job?", Leave: "leave"}
	for _, j := range c.jobs {
		p.Options = append(p.Options, prompt.Option{ID: j.file, Title: j.line})
	}
	p.Options = append(p.Options, prompt.Option{ID: newJob, Title: "a new one"})
	return p, nil
}

// Answer is as of talk.Conversation.
func (c *jobChoice) Answer(a prompt.Answer) error {
	c.why = ""
	switch {
	case a.One() == newJob:
		c.naming = true
	case a.One() == prompt.Back:
		c.naming = false
	case a.One() != "":
		c.file = a.One()
	case a.Text == "":
		c.file = freeName("job")
	case fileName(a.Text) == "":
		c.why = "That has no letter or figure in it."
	default:
		c.file, c.called = freeName(fileName(a.Text)), a.Text
	}
	return nil
}

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
