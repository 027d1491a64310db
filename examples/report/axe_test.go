package report_test

import (
	"testing"

	"example.com/earnest/internal/testing/browser"
)

func TestPageByAxe(t *testing.T) {
	v := browser.Visit(t)
	v.Open("file://" + page(t, "whole", all()))
	v.Axe()
}
