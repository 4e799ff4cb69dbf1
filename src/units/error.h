// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <stdexcept>
#include <string>
#include <tl/expected.hpp>

namespace frayhold {

// Whose fault it is; the value is the exit code of the command line.
enum class Fault {
    usage = 2,    // the words of the command are wrong
    input = 3,    // a file, photo or field cannot be used
    refused = 4,  // a rule of the hold forbids it
    outside = 5,  // disk, mail or network
};

// One thing that went wrong, in words for the person at the bench. No part ends in a full stop.
struct Error {
    Fault fault = Fault::input;
    std::string what;   // "the file ends in the middle of the picture"
    std::string where;  // "rope.jpg", "--corners", "item K-12"
    std::string mend;   // "copy it from the camera again"

    // "rope.jpg: the file ends in the middle of the picture; copy it from the camera again"
    [[nodiscard]] std::string sentence() const;
};

// For expected failures in the measuring core: must be looked at.
template <class T>
using Result = tl::expected<T, Error>;

[[nodiscard]] tl::unexpected<Error> failed(Fault fault, std::string where, std::string what,
                                           std::string mend);

// For failures at the borders (files, database, mail).
class Failure : public std::runtime_error {
  public:
    explicit Failure(Error error);
    Failure(Fault fault, std::string where, std::string what, std::string mend);
    [[nodiscard]] const Error& error() const { return error_; }

  private:
    Error error_;
};

// The value, or the error thrown as a Failure: the one bridge from the core to the borders.
template <class T>
T value_or_throw(Result<T> result) {
    if (!result) throw Failure(std::move(result.error()));
    return *std::move(result);
}

}  // namespace frayhold
