// SPDX-License-Identifier: Apache-2.0
#pragma once

#include <compare>

namespace frayhold {

// A number with a unit. Two quantities of different units cannot be added, compared or assigned.
// The value is reached only by name, so each conversion can be seen where it is made.
template <class Unit>
class Quantity {
  public:
    constexpr Quantity() = default;
    constexpr explicit Quantity(double value) : value_(value) {}

    [[nodiscard]] constexpr double value() const { return value_; }

    // clang-tidy 14 takes the 0 in the comparisons that a compiler makes of this for a pointer.
    constexpr auto operator<=>(const Quantity&) const = default;  // NOLINT(modernize-use-nullptr)

    constexpr Quantity operator-() const { return Quantity(-value_); }
    friend constexpr Quantity operator+(Quantity a, Quantity b) { return Quantity(a.value_ + b.value_); }
    friend constexpr Quantity operator-(Quantity a, Quantity b) { return Quantity(a.value_ - b.value_); }
    friend constexpr Quantity operator*(Quantity a, double factor) { return Quantity(a.value_ * factor); }
    friend constexpr Quantity operator*(double factor, Quantity a) { return a * factor; }
    friend constexpr Quantity operator/(Quantity a, double divisor) { return Quantity(a.value_ / divisor); }
    friend constexpr double operator/(Quantity a, Quantity b) { return a.value_ / b.value_; }

  private:
    double value_ = 0.0;
};

using Millimetres = Quantity<struct MillimetreUnit>;
using SquareMillimetres = Quantity<struct SquareMillimetreUnit>;
using Pixels = Quantity<struct PixelUnit>;
using Degrees = Quantity<struct DegreeUnit>;

constexpr SquareMillimetres operator*(Millimetres a, Millimetres b) {
    return SquareMillimetres(a.value() * b.value());
}

namespace literals {
constexpr Millimetres operator""_mm(long double v) {
    return Millimetres(static_cast<double>(v));
}
constexpr Millimetres operator""_mm(unsigned long long v) {
    return Millimetres(static_cast<double>(v));
}
constexpr Pixels operator""_px(long double v) {
    return Pixels(static_cast<double>(v));
}
constexpr Pixels operator""_px(unsigned long long v) {
    return Pixels(static_cast<double>(v));
}
constexpr Degrees operator""_deg(long double v) {
    return Degrees(static_cast<double>(v));
}
constexpr Degrees operator""_deg(unsigned long long v) {
    return Degrees(static_cast<double>(v));
}
}  // namespace literals

}  // namespace frayhold
