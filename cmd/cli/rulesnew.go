package cli

import (
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"

	"github.com/spf13/cobra"
)

// start holds what a new house rule starts from: a rule that works, its page and its decks.
//
//go:embed start
var start embed.FS

// starting are the files of a new rule; the record of the part in its decks may be there already.
var starting = []string{"NAME.star", "NAME.md", "NAME.bad.cir", "NAME.good.cir", "NAME.open.cir"}

const startingRecord = "house-sense-25.toml"

var ruleName = regexp.MustCompile(`^[a-z0-9]+(-[a-z0-9]+)*$`)

func (a *app) newRule() *cobra.Command {
	return &cobra.Command{
		Use:     "new NAME",
		Short:   "Write a house rule that works, to start from",
		Long:    "Write a house rule that works, its page and its decks into the folder house, to start from. No file is overwritten.",
		Example: "  shuntwright rules new shunt-max\n  shuntwright rules test",
		Args: func(_ *cobra.Command, args []string) error {
			if len(args) != 1 {
				return errors.New("rules new: name the rule, as in rules new shunt-max")
			}
			return nil
		},
		RunE: func(_ *cobra.Command, args []string) error {
			name := strings.TrimPrefix(args[0], "house/")
			if !ruleName.MatchString(name) || len(name) > 60 {
				return fmt.Errorf("rules new: the name %q does not fit: write lower case letters, digits and hyphens, as in shunt-max", name)
			}
			return a.write(name)
		},
	}
}

// write writes the files of a new rule, all or none.
func (a *app) write(name string) error {
	texts := map[string][]byte{}
	var order []string
	for _, f := range starting {
		text, err := start.ReadFile("start/" + f)
		if err != nil {
			return err
		}
		path := filepath.Join(houseFiles.folder, strings.Replace(f, "NAME", name, 1))
		if _, err := os.Lstat(path); !errors.Is(err, fs.ErrNotExist) {
			return fmt.Errorf("rules new: %s is there already; take another name", filepath.ToSlash(path))
		}
		texts[path] = []byte(strings.ReplaceAll(string(text), "NAME", name))
		order = append(order, path)
	}
	record := filepath.Join(houseFiles.folder, recordFiles.folder, startingRecord)
	if _, err := os.Lstat(record); errors.Is(err, fs.ErrNotExist) {
		text, err := start.ReadFile("start/" + startingRecord)
		if err != nil {
			return err
		}
		texts[record] = text
		order = append(order, record)
	}
	for _, path := range order {
		if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
			return fmt.Errorf("rules new: %s: cannot be made: %w", filepath.ToSlash(filepath.Dir(path)), bare(err))
		}
		if err := save(path, texts[path]); err != nil {
			return fmt.Errorf("rules new: %w", err)
		}
		fmt.Fprintln(a.Out, filepath.ToSlash(path))
	}
	return nil
}
