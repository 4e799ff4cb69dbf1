// SPDX-License-Identifier: Apache-2.0
// A deliberate include that runs upward, to prove that the check can fail.
#include "gauge/gauge.h"
