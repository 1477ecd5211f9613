"""What a study's text cites, in full."""

from __future__ import annotations

from collections.abc import Sequence

WORKS = {
    "Shrout and Fleiss (1979)": "Shrout PE, Fleiss JL (1979) Intraclass correlations: uses in assessing rater "
    "reliability. Psychological Bulletin 86, 420–428. doi:10.1037/0033-2909.86.2.420",
    "Bland and Altman 1986": "Bland JM, Altman DG (1986) Statistical methods for assessing agreement between two "
    "methods of clinical measurement. Lancet 327, 307–310. doi:10.1016/S0140-6736(86)90837-8",
    "Carkeet 2015": "Carkeet A (2015) Exact parametric confidence intervals for Bland–Altman limits of agreement. "
    "Optometry and Vision Science 92, e71–e80. doi:10.1097/OPX.0000000000000513",
    "Hamada and Weerahandi 2000": "Hamada M, Weerahandi S (2000) Measurement system assessment via generalized "
    "inference. Journal of Quality Technology 32, 241–253. doi:10.1080/00224065.2000.11980000",
    "Ionan et al. 2014": "Ionan AC, Polley MYC, McShane LM, Dobbin KK (2014) Comparison of confidence interval methods "
    "for an intra-class correlation coefficient (ICC). BMC Medical Research Methodology 14, 121. "
    "doi:10.1186/1471-2288-14-121",
    "Nichols and Holmes 2002": "Nichols TE, Holmes AP (2002) Nonparametric permutation tests for functional "
    "neuroimaging: a primer with examples. Human Brain Mapping 15, 1–25. doi:10.1002/hbm.1058",
    "Weir 2005": "Weir JP (2005) Quantifying test-retest reliability using the intraclass correlation coefficient and "
    "the SEM. Journal of Strength and Conditioning Research 19, 231–240",
    "Bonett 2002": "Bonett DG (2002) Sample size requirements for estimating intraclass correlations with desired "
    "precision. Statistics in Medicine 21, 1331–1335. doi:10.1002/sim.1108",
}
"""As the text names a work -> the work (titles and pages from memory)."""


def references(texts: Sequence[str]) -> tuple[str, ...]:
    """The works that these texts name, by their authors."""
    whole = " ".join(texts)
    return tuple(sorted(work for name, work in WORKS.items() if name in whole))
