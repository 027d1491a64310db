module example.com/earnest

go 1.25.0

require (
	github.com/agnivade/levenshtein v1.2.2
	github.com/go-audio/audio v1.0.0
	github.com/mjibson/go-dsp v0.0.0-20180508042940-11479a337f12
	github.com/pelletier/go-toml/v2 v2.4.3
	github.com/santhosh-tekuri/jsonschema/v6 v6.0.3
	github.com/stretchr/testify v1.12.1
	gonum.org/v1/gonum v0.17.0
)

require (
	go.yaml.in/yaml/v3 v3.0.5 // indirect
	golang.org/x/text v0.23.0 // indirect
)
