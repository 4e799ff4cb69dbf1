// SPDX-License-Identifier: Apache-2.0
#include "units/error.h"

#include <utility>

namespace frayhold {

std::string Error::sentence() const {
    std::string out = where.empty() ? what : where + ": " + what;
    if (!mend.empty()) out += "; " + mend;
    return out;
}

tl::unexpected<Error> failed(Fault fault, std::string where, std::string what, std::string mend) {
    return tl::make_unexpected(Error{fault, std::move(what), std::move(where), std::move(mend)});
}

Failure::Failure(Error error) : std::runtime_error(error.sentence()), error_(std::move(error)) {}

Failure::Failure(Fault fault, std::string where, std::string what, std::string mend)
    : Failure(Error{fault, std::move(what), std::move(where), std::move(mend)}) {}

}  // namespace frayhold
