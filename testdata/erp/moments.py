# /usr/bin/python3 testdata/erp/moments.py > testdata/erp/moments.tsv
#
# Mean (numpy) and standard error of the mean (scipy.stats.sem) of 25 values, a row
# each: white noise of 10 uV around offsets that make naive sums of squares fail.
# Columns: mean, standard error, then the values, all as shortest decimals.
import numpy as np
from scipy.stats import sem

rng = np.random.default_rng(20)
print("mean\tsem\tvalues")
for offset in 0, -3.5, 1e3, -1e5, 1e7, 1e9:
    x = offset + 10 * rng.standard_normal(25)
    # Mean and error of what is left after the offset, which is exact to more digits.
    rest = (x.astype(np.longdouble) - np.longdouble(offset)).astype(float)
    print("\t".join(repr(float(v)) for v in [offset + rest.mean(), sem(rest), *x]))
