// SPDX-License-Identifier: Apache-2.0
#include "web/task.h"

#include <fmt/format.h>

#include "language/tr.h"

namespace frayhold::web {
namespace {

using record::Role;

std::string whose(Task task) {
    switch (task) {
        case Task::bench:
            return tr("this is for the bench itself");
        case Task::decide:
            return tr("this is for a competent person");
        case Task::letters:
        case Task::result:
            return tr("this is for the keeper or a competent person");
        default:
            return tr("this is for the keeper");
    }
}

}  // namespace

std::string what_for(Role role) {
    switch (role) {
        case Role::helper:
            return tr("a helper's phone takes photos and notes findings");
        case Role::keeper:
            return tr("a keeper's phone gives no verdict and pairs no phone");
        case Role::competent_person:
            break;
    }
    return tr("a competent person's phone takes photos, notes findings and gives verdicts");
}

bool may(const Holder& holder, Task task) {
    if (!holder) return true;
    switch (task) {
        case Task::look:
        case Task::evidence:
            return true;
        case Task::letters:
        case Task::result:
            return *holder != Role::helper;
        case Task::keep:
            return *holder == Role::keeper;
        case Task::decide:
            return *holder == Role::competent_person;
        case Task::bench:
            break;
    }
    return false;
}

std::string refusal_words(Role role, Task task) {
    return fmt::format("{}; {}", whose(task), what_for(role));
}

}  // namespace frayhold::web
