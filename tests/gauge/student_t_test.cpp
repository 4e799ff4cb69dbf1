// SPDX-License-Identifier: Apache-2.0
#include "gauge/student_t.h"

#include <catch2/catch.hpp>
#include <limits>
#include <stdexcept>

namespace {

using frayhold::gauge::coverage_factor;
using frayhold::gauge::student_t;

// JCGM 100:2008, table G.2, columns 90, 95, 95.45 and 99 %; from memory. tests/reference asks SciPy for the
// same.
struct TableRow {
    double dof, p90, p95, p9545, p99;
};
constexpr TableRow table_g2[] = {
    {1, 6.31, 12.71, 13.97, 63.66}, {2, 2.92, 4.30, 4.53, 9.92},      {3, 2.35, 3.18, 3.31, 5.84},
    {5, 2.02, 2.57, 2.65, 4.03},    {10, 1.81, 2.23, 2.28, 3.17},     {16, 1.75, 2.12, 2.17, 2.92},
    {20, 1.72, 2.09, 2.13, 2.85},   {50, 1.676, 2.009, 2.051, 2.678}, {100, 1.660, 1.984, 2.025, 2.626}};

TEST_CASE("Student's t agrees with table G.2 of JCGM 100") {
    for (const TableRow& row : table_g2) {
        CAPTURE(row.dof);
        const double half_of_last_digit = row.dof < 50 ? 0.0051 : 0.00051;
        CHECK(student_t(row.dof, 0.90) == Approx(row.p90).margin(half_of_last_digit));
        CHECK(student_t(row.dof, 0.95) == Approx(row.p95).margin(half_of_last_digit));
        CHECK(student_t(row.dof) == Approx(row.p9545).margin(half_of_last_digit));
        CHECK(student_t(row.dof, 0.99) == Approx(row.p99).margin(half_of_last_digit));
    }
}

TEST_CASE("Student's t takes degrees of freedom that are not whole or not finite") {
    CHECK(student_t(16.5) < student_t(16.0));
    CHECK(student_t(16.5) > student_t(17.0));
    CHECK(student_t(std::numeric_limits<double>::infinity()) == Approx(2.0).epsilon(1e-12));
}

TEST_CASE("The coverage factor is 2 from 50 degrees of freedom on and Student's t below") {
    CHECK(coverage_factor(std::numeric_limits<double>::infinity()) == 2.0);
    CHECK(coverage_factor(50.0) == 2.0);
    CHECK(coverage_factor(49.9) == Approx(2.051).margin(0.001));
    CHECK(coverage_factor(4.0) == student_t(4.0));
}

TEST_CASE("Student's t refuses what it cannot answer") {
    CHECK_THROWS_AS(student_t(0.0), std::invalid_argument);
    CHECK_THROWS_AS(student_t(std::numeric_limits<double>::quiet_NaN()), std::invalid_argument);
    CHECK_THROWS_AS(student_t(5.0, 1.0), std::invalid_argument);
    CHECK_THROWS_AS(student_t(5.0, 0.0), std::invalid_argument);
}

}  // namespace
