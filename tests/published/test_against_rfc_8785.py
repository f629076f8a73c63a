"""The canonical JSON of records against RFC 8785, by a library of it and by the RFC's own text."""

import rfc8785
from hypothesis import given
from hypothesis import strategies as st

from maintenance.services.chain import canonical

#: What the trees of records are made of: text, whole numbers and truth values, under ASCII keys.
LEAVES = st.text(st.characters(exclude_categories=["Cs"])) | st.integers(0, 2**53 - 1)
#: Members of records are named in small letters, for which every order of text is the same.
NAMES = st.text("abcdefghijklmnopqrstuvwxyz_", min_size=1, max_size=8)
TREES = st.dictionaries(
    NAMES,
    st.recursive(
        LEAVES | st.just(True),
        lambda inner: st.lists(inner) | st.dictionaries(NAMES, inner),
        max_leaves=12,
    ),
)


@given(TREES)
def test_the_canonical_json_of_any_tree_is_that_of_the_rfc(tree):
    assert canonical(tree) == rfc8785.dumps(tree)


def test_text_is_written_as_in_section_3_2_2():
    # RFC 8785, sections 3.2.2 and 3.2.3: the member `string` of the sample, as it must come out.
    text = "\u20ac$\u000f\u000aA'\u0042\u0022\u005c\\\"/"
    expected = b'{"string":"\xe2\x82\xac$\\u000f\\nA\'B\\"\\\\\\\\\\"/"}'
    assert canonical({"string": text}) == expected
