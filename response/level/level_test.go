package level_test

import "example.com/earnest/response"

func exact(v float64, unit string) response.Figure { return response.Figure{Value: v, Unit: unit} }
