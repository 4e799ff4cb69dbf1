// SPDX-License-Identifier: Apache-2.0
#include "gauge/student_t.h"

#include <boost/math/distributions/normal.hpp>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <stdexcept>

namespace frayhold::gauge {

double student_t(double dof, double p) {
    if (!(dof > 0.0)) throw std::invalid_argument("student_t: degrees of freedom must be above zero");
    if (!(p > 0.0 && p < 1.0))
        throw std::invalid_argument("student_t: the probability must lie between 0 and 1");
    const double upper_tail = (1.0 - p) / 2.0;
    if (std::isinf(dof)) return quantile(complement(boost::math::normal(), upper_tail));
    return quantile(complement(boost::math::students_t(dof), upper_tail));
}

double coverage_factor(double dof) {
    return dof >= many_degrees_of_freedom ? 2.0 : student_t(dof);
}

}  // namespace frayhold::gauge
