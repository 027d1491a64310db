package report

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"example.com/earnest/response/level"
	"example.com/earnest/target/review"
)

var verb = regexp.MustCompile(`%(?:\[\d\])?[-+#]?[\d.]*[a-z]|%%`)

// placed are the verbs and links of a text, in the order of the alphabet where a verb names its
// argument.
func placed(text string) (verbs, links []string) {
	verbs = verb.FindAllString(text, -1)
	if regexp.MustCompile(`%\[\d`).MatchString(text) {
		verbs = nil
	}
	for _, m := range marked.FindAllStringSubmatch(text, -1) {
		links = append(links, m[2])
	}
	slices.Sort(links)
	return verbs, links
}

// A translation has the keys of English and no others, each with the same numbers, names and links;
// a few may be missing, and stay in English.
func TestTranslationsSayTheSame(t *testing.T) {
	for _, code := range Languages() {
		own, err := decode(code)
		require.NoError(t, err)
		missing, all := 0, 0
		for section, texts := range english.Texts {
			for key, text := range texts {
				all++
				if _, there := own.Texts[section][key]; !there {
					missing++
					t.Logf("%s has no %s.%s", code, section, key)
				} else {
					verbs, links := placed(text)
					ownVerbs, ownLinks := placed(own.Texts[section][key])
					assert.Equal(t, links, ownLinks, "%s %s.%s", code, section, key)
					if verbs != nil && ownVerbs != nil {
						assert.Equal(t, verbs, ownVerbs, "%s %s.%s", code, section, key)
					}
				}
			}
		}
		assert.Less(t, missing, all/10, code)
		for section, texts := range own.Texts {
			for key := range texts {
				_, there := english.Texts[section][key]
				names := section == "use" || section == "kind" || section == "component" || section == "name"
				assert.True(t, there || names, "%s: English has no %s.%s", code, section, key)
			}
		}
		for _, d := range own.Definitions {
			assert.NotPanics(t, func() { english.definition(d.ID) })
		}
		whole, err := readLanguage(code)
		require.NoError(t, err)
		assert.Len(t, whole.Definitions, len(english.Definitions))
		assert.True(t, code == "en" || whole.Name(level.Caution) != level.Caution, "%s: the safety notice", code)
	}
}

func TestAMissingTranslation(t *testing.T) {
	assert.ErrorIs(t, WriteTranslation(t.TempDir(), &review.Results{}, "de", false), ErrNotJudged)
	folder := t.TempDir()
	r := &review.Results{Judgement: &review.Judgement{}}
	assert.ErrorContains(t, WriteTranslation(folder, r, "../en", false), "choose one of de, en")
	path := filepath.Join(folder, "report-de.html")
	require.NoError(t, os.WriteFile(path, nil, 0o600))
	assert.ErrorIs(t, WriteTranslation(folder, r, "de", false), ErrExists)
}
