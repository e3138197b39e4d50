package cli

import (
	"errors"
	"fmt"
	"path/filepath"
	"slices"
	"sync"

	"github.com/shuntwright/shuntwright/cmd/report"
	"github.com/shuntwright/shuntwright/parse"
	"github.com/shuntwright/shuntwright/parse/source"
	"github.com/shuntwright/shuntwright/rules/house"
)

var houseFiles = belonging{"house", ".star", "--house", "house rules"}

// houses are the sets of house rules in use, one for each netlist: what is wrong with a rule there is not said of another.
type houses struct {
	mu   sync.Mutex
	sets []*house.Set
}

// of is the house rules that judge a netlist; nil for none. said holds the policy.
func (h *houses) of(in inputs, netlist string, said *source.Set, d decided) (*house.Set, []report.Unread) {
	if h == nil {
		return nil, nil
	}
	files, unread := in.houseRules(netlist, said, d)
	if len(files) == 0 || len(unread) > 0 {
		return nil, unread
	}
	return h.open(files), nil
}

func (h *houses) open(files []house.File) *house.Set {
	set := house.Open(files)
	h.mu.Lock()
	defer h.mu.Unlock()
	h.sets = append(h.sets, set)
	return set
}

func (h *houses) close() {
	h.mu.Lock()
	defer h.mu.Unlock()
	for _, s := range h.sets {
		s.Close()
	}
}

// houseRules reads the files of house rules: those that were named, or those beside the netlist, in the order of their names,
// and those that the policy names. Where house rules are found is decided here alone.
func (in inputs) houseRules(netlist string, said *source.Set, d decided) (files []house.File, unread []report.Unread) {
	read := func(path string, text []byte, err error) {
		var large *parse.LimitError
		switch {
		case errors.As(err, &large):
			files = append(files, house.File{Path: shown(path), Refused: fmt.Sprintf("the file is larger than %s", parse.Bytes(house.MostText))})
		case err != nil:
			unread = append(unread, report.Unread{Path: shown(path), Message: err.Error()})
		default:
			files = append(files, house.File{Path: shown(path), Text: text, Page: func(name string) (string, error) { return pageBeside(path, name) }})
		}
	}
	if in.house == nil {
		dir := filepath.Dir(netlist)
		named, lost := policyFiles(said, d, houseFiles, house.MostText) // first: nobody takes a rule's name from them
		for _, f := range named {
			read(filepath.FromSlash(f.path), f.text, nil)
		}
		unread = append(unread, lost...)
		names, refused := beside(dir, houseFiles)
		if len(refused) > 0 {
			return nil, refused
		}
		for _, name := range names {
			if path := shown(filepath.Join(dir, name)); slices.ContainsFunc(files, func(o house.File) bool { return o.Path == path }) {
				continue
			}
			text, err := readBeside(dir, name, houseFiles.flag, house.MostText)
			read(filepath.Join(dir, name), text, err)
		}
		return files, unread
	}
	paths, unread := expandAll(in.house, houseFiles)
	for _, p := range paths {
		text, err := readNamed(p, house.MostText)
		read(p, text, err)
	}
	return files, unread
}

// pageBeside is a page that stands beside its rule.
func pageBeside(rule, name string) (string, error) {
	page, err := readBeside(filepath.Dir(rule), name, houseFiles.flag, house.MostText)
	if err == nil && page == nil {
		err = errMissing
	}
	return string(page), err
}
