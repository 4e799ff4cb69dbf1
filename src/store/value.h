// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <cstdint>
#include <optional>
#include <string>
#include <string_view>
#include <variant>
#include <vector>

#include "units/date.h"
#include "units/quantity.h"

namespace frayhold::store {

// One cell of the database on its way in: null, a whole number, a real number or text. Dates and times are
// kept as ISO 8601 text, so that they sort and can be read with any tool; lengths as real numbers in mm.
class Value {
  public:
    using Kept = std::variant<std::monostate, std::int64_t, double, std::string>;

    Value(std::nullptr_t) {}
    Value(bool value) : kept_(static_cast<std::int64_t>(value)) {}
    Value(int value) : kept_(static_cast<std::int64_t>(value)) {}
    Value(std::int64_t value) : kept_(value) {}
    Value(double value) : kept_(value) {}
    Value(std::string value) : kept_(std::move(value)) {}
    Value(std::string_view value) : kept_(std::string(value)) {}
    Value(const char* value) : kept_(std::string(value)) {}
    Value(Date value) : kept_(to_text(value)) {}
    Value(Time value) : kept_(to_text(value)) {}
    Value(Millimetres value) : kept_(value.value()) {}
    template <class T>
    Value(const std::optional<T>& value) : kept_(value ? Value(*value).kept_ : Kept{}) {}

    [[nodiscard]] const Kept& kept() const { return kept_; }

  private:
    Kept kept_;
};

using Values = std::vector<Value>;

// What follows LIMIT: all rows where there is no limit.
[[nodiscard]] inline Value limit_or_all(int limit) {
    return limit > 0 ? Value(limit) : Value(INT64_MAX);
}

// Null for a text that is not there.
[[nodiscard]] inline Value or_null(const std::string& text) {
    return text.empty() ? Value(nullptr) : Value(text);
}

// One row on its way out, read from the first column on. Each call reads the next column. Throws Failure
// (Fault::outside) where the column holds something else.
class Row {
  public:
    explicit Row(std::vector<Value::Kept> cells) : cells_(std::move(cells)) {}

    [[nodiscard]] std::string text();
    [[nodiscard]] std::int64_t number();
    [[nodiscard]] int integer();
    [[nodiscard]] bool boolean();
    [[nodiscard]] double real();
    [[nodiscard]] Date date();
    [[nodiscard]] Time time();

    [[nodiscard]] std::optional<std::int64_t> number_or_none();
    [[nodiscard]] std::optional<int> integer_or_none();
    [[nodiscard]] std::optional<double> real_or_none();
    [[nodiscard]] std::optional<Date> date_or_none();
    [[nodiscard]] std::optional<Time> time_or_none();
    [[nodiscard]] std::optional<Millimetres> length_or_none();
    // Null reads as empty text.
    [[nodiscard]] std::string text_or_empty();

    // All of them, for whoever takes any row for what it is; one that was read is spent.
    [[nodiscard]] const std::vector<Value::Kept>& cells() const { return cells_; }

  private:
    [[nodiscard]] bool next_is_null() const;
    Value::Kept take();

    std::vector<Value::Kept> cells_;
    std::size_t at_ = 0;
};

}  // namespace frayhold::store
