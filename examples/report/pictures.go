package report

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"example.com/earnest/examples/report/plot"
	"example.com/earnest/internal/parallel"
	"example.com/earnest/target/review"
)

// PicturesFolder is the folder for the files of WritePictures, beside the report.
const PicturesFolder = "pictures"

// WritePictures writes each plot of the page to files of its own, as SVG and PNG: for video, light
// and dark, in 1920 x 1080 pixels with large type, and for a column in print. Each names the pair,
// the rig and the date. If pictures exist, it returns ErrExists, unless replace is set.
func WritePictures(folder string, r *review.Results, replace bool) error {
	if r.Judgement == nil {
		return ErrNotJudged
	}
	to := filepath.Join(folder, PicturesFolder)
	if _, err := os.Lstat(to); err == nil && !replace {
		return fmt.Errorf("report: %s: %w; name another folder, or ask for it to be replaced", to, ErrExists)
	}
	if err := os.MkdirAll(to, 0o755); err != nil {
		return fmt.Errorf("report: %w", err)
	}
	line := strings.Join(slices.DeleteFunc([]string{r.About.Name, english.Text("page.rig", r.Config.Rig), r.About.Date},
		func(s string) bool { return s == "" }), " · ")
	type job struct {
		file string
		plot plot.Plot
		plot.Picture
	}
	var jobs []job
	for id, p := range english.plots(r) {
		for _, format := range []string{"svg", "png"} {
			for name, picture := range map[string]plot.Picture{
				"video-light": {Format: format, Line: line}, "video-dark": {Format: format, Line: line, Dark: true},
				"print": {Format: format, Line: line, Column: true},
			} {
				jobs = append(jobs, job{fmt.Sprintf("%s-%s.%s", id, name, format), p, picture})
			}
		}
	}
	errs := make([]error, len(jobs))
	parallel.Do(len(jobs), func(i int) {
		errs[i] = writeFile(filepath.Join(to, jobs[i].file), r, func(w io.Writer, _ *review.Results) error {
			return plot.WritePicture(w, jobs[i].plot, jobs[i].Picture)
		})
	})
	for i, err := range errs {
		if err != nil {
			return fmt.Errorf("report: %s: %w", jobs[i].file, err)
		}
	}
	return nil
}
