// SPDX-License-Identifier: Apache-2.0
#pragma once

#include "store/forget.h"

namespace frayhold::desk {

using Forgotten = store::Forgotten;

}  // namespace frayhold::desk
