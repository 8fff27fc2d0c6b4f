package inventory

import (
	"strings"

	"rillwood/vector"
)

// Words that tell a tree's name: genera of North American trees, with some that
// are planted, and the last words of their English names. From memory of floras
// and tree lists; only there to notice a column that names no trees at all.
var treeWords = wordSet(`
abies acer aesculus ailanthus albizia alnus amelanchier asimina betula carpinus carya castanea catalpa celtis cercis
chamaecyparis cladrastis cornus corylus cotinus crataegus cryptomeria cupressus diospyros elaeagnus eucalyptus euonymus fagus
fraxinus ginkgo gleditsia gymnocladus halesia hamamelis ilex juglans juniperus koelreuteria larix liquidambar liriodendron
maclura magnolia malus melia metasequoia morus nyssa ostrya oxydendrum paulownia persea phellodendron picea pinus platanus
populus prunus pseudotsuga ptelea pyrus quercus rhamnus rhus robinia sabal salix sambucus sapindus sassafras sequoia
sideroxylon sorbus staphylea styphnolobium styrax syringa tamarix taxodium taxus thuja tilia toxicodendron triadica tsuga ulmus
viburnum zelkova
alder apple arborvitae ash aspen baldcypress basswood beech birch boxelder buckeye buckthorn butternut catalpa cedar cherry
chestnut chokecherry coffeetree cottonwood crabapple cypress dogwood elm fir ginkgo gum hackberry hawthorn hazel hemlock
hickory holly honeylocust hophornbeam hornbeam horsechestnut ironwood juniper larch linden locust magnolia maple mulberry oak
olive osage pawpaw pear pecan persimmon pine planetree plum poplar redbud redcedar sassafras serviceberry sourwood spruce
sugarberry sumac sweetgum sycamore tamarack tulip tulipwood tupelo walnut willow yellowwood yew zelkova
hardwood softwood conifer evergreen snag tree`)

func wordSet(text string) map[string]bool {
	set := map[string]bool{}
	for _, w := range strings.Fields(text) {
		set[w] = true
	}
	return set
}

// isTree tells whether a species field names some tree: a number in the range of
// the US forest inventory's codes (10 to 999, rarer trees 6000 to 9999; from
// memory), or a name with a word of one.
func isTree(v vector.Value) bool {
	if code, ok := v.Int(); ok {
		return code >= 10 && code <= 999 || code >= 6000 && code <= 9999
	}
	for _, w := range strings.Fields(plainName(v.String())) {
		if treeWords[w] || treeWords[strings.TrimSuffix(w, "s")] {
			return true
		}
	}
	return false
}
