// SPDX-License-Identifier: Apache-2.0
// Deliberate includes, one that runs upward and one of the catalogues, to prove that the check can fail.
#include "gauge/gauge.h"
#include "language/tr.h"
