// SPDX-License-Identifier: Apache-2.0
#include "language/error_words.h"

#include "language/recorded.h"
#include "language/tr.h"

namespace frayhold {

std::string error_words(const Error& error) {
    Error shown = error;
    shown.what = tr_recorded(error.what);
    shown.where = tr_word(error.where);
    shown.mend = tr_recorded(error.mend);
    return shown.sentence();
}

}  // namespace frayhold
