module winchlint

go 1.26.0

require github.com/shuntwright/shuntwright v0.0.0

replace github.com/shuntwright/shuntwright => ../..
