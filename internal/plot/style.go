package plot

import "strings"

// PageStyle is what a page serves as plot.css beside its own sheet, which
// gives the colours and the families as variables: --ink, --ink-2, --hair,
// --band, --wash, --paper, --steel, --sans, --serif. Light and dark follow it.
// On a phone a long picture keeps a readable width: set it in a box of class
// plotbox, which scrolls.
const PageStyle = `svg.plot{display:block;overflow:visible}
svg.plot:not([width]){width:100%;height:auto}
` + rules + `
.plotbox{overflow-x:auto}
@media (max-width:760px){svg.plot:not([width]) text{font-size:23px}svg.plot.long{min-width:900px}svg.plot.long:not([width]) text{font-size:18px}}
`

// rules gives each pen its weight and the name of its colour.
const rules = `.plot text{font:400 15px var(--sans);font-variant-numeric:lining-nums tabular-nums;fill:var(--ink)}
.plot text.says{font:340 22px var(--serif)}
.plot text.second{fill:var(--ink-2)}.plot text.steel{fill:var(--steel)}
.plot text.halo{paint-order:stroke;stroke:var(--paper);stroke-width:5px;stroke-linejoin:round}
.plot .strong{font-weight:600}.plot text.second .strong{fill:var(--ink)}
.plot path:not(.hatch),.plot circle{fill:none}.plot path,.plot circle{stroke-width:2;stroke-linejoin:round}
.plot .dashed{stroke-dasharray:4 3}.plot .broken{stroke-dasharray:7 4}.plot .dotted{stroke-dasharray:2 4}
.plot path.ink,.plot path.thin,.plot path.axis,.plot path.needle,.plot path.bracket{stroke:var(--ink)}
.plot path.thin{stroke-width:1.2}.plot path.axis{stroke-width:1}.plot path.needle{stroke-width:2.5}.plot path.bracket{stroke-width:3.2}
.plot path.second,.plot path.past{stroke:var(--ink-2);stroke-width:1}.plot path.past{stroke-width:1.5}
.plot path.hair{stroke:var(--hair);stroke-width:1}.plot rect.paper{fill:var(--paper)}
.plot path.steel,.plot path.post{stroke:var(--steel)}.plot path.post{stroke-width:2.5}
.plot path.area{stroke:none}.plot .area.wash{fill:var(--wash)}.plot .area.band,.plot .area.edged{fill:var(--band)}
.plot .area.edged{stroke:var(--ink-2);stroke-width:.7}.plot .area.steel{fill:var(--steel);fill-opacity:.2}
.plot .area.solid,.plot .bar.solid{fill:var(--steel)}.plot .area.ink,.plot .bar.ink{fill:var(--ink)}.plot .area.paper{fill:var(--paper)}
.plot .bar.open{fill:var(--paper);stroke:var(--ink);stroke-width:2}
.plot path.hatch{stroke-width:1}.plot path.slant{stroke-width:1.7}.plot path.slant.steel{stroke-width:2.6}.plot path.slant.second{stroke-width:1}.plot path.hatch.second{stroke:none}
.plot circle{stroke-width:1.2}.plot circle.open{fill:var(--paper);stroke:var(--ink)}.plot circle.ink{fill:var(--ink);stroke:none}
.plot circle.ring.ink{fill:none;stroke:var(--ink);stroke-width:1.6}.plot circle.ring.second{stroke:var(--ink-2);stroke-width:1}
.plot circle.ring.open{stroke-width:2}.plot circle.spot{stroke-width:2.4}`

// The look's families and themes: name, value.
var (
	families = []string{
		"var(--sans)", `"Source Sans 3","Segoe UI",Helvetica,Arial,"Liberation Sans",sans-serif`,
		"var(--serif)", `"Source Serif 4",Georgia,"Liberation Serif",serif`,
	}
	light = []string{
		"var(--paper)", "#faf8f2", "var(--wash)", "#efebdf", "var(--ink)", "#1a1916", "var(--ink-2)", "#504c44",
		"var(--hair)", "#c8c2b3", "var(--band)", "#e2dbc8", "var(--steel)", "#22408c",
	}
	dark = []string{
		"var(--paper)", "#171613", "var(--wash)", "#282620", "var(--ink)", "#ece7db", "var(--ink-2)", "#b3ad9e",
		"var(--hair)", "#4d493f", "var(--band)", "#3d3a31", "var(--steel)", "#a3b8ff",
	}
)

// alone is the style of a picture that stands alone. Colours are written out,
// because drawing programs do not know variables.
var alone = painted(light) + "\n@media (prefers-color-scheme:dark){" + painted(dark) + "}"

func painted(theme []string) string {
	return strings.NewReplacer(append(families, theme...)...).Replace(rules)
}
