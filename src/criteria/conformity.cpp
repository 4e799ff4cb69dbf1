// SPDX-License-Identifier: Apache-2.0
#include "criteria/conformity.h"

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <stdexcept>

#include "gauge/student_t.h"

namespace frayhold::criteria {

double probability_above(const Uncertain<double>& y, double limit) {
    if (y.u == 0.0) return y.value > limit ? 1.0 : 0.0;
    const double z = (limit - y.value) / y.u;
    if (y.dof >= gauge::many_degrees_of_freedom) return cdf(complement(boost::math::normal(), z));
    return cdf(complement(boost::math::students_t(y.dof), z));
}

Uncertain<double> ratio(const gauge::Reading& a, const gauge::Reading& b) {
    if (b.value == 0.0) throw std::invalid_argument("ratio: the divisor is zero");
    const double value = a.value / b.value;
    const gauge::Reading combined = gauge::combine(
        a.measurand, value,
        {{"numerator", std::abs(a.u / b.value), a.dof}, {"divisor", std::abs(value * b.u / b.value), b.dof}});
    return {combined.value, combined.u, combined.dof};
}

}  // namespace frayhold::criteria
