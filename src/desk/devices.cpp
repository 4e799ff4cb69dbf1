// SPDX-License-Identifier: Apache-2.0
#include "store/devices.h"

#include <algorithm>
#include <span>

#include "desk/inside.h"
#include "language/tr.h"
#include "photo/sha256.h"
#include "record/text.h"

// Phones that may use the bench over the local network.
namespace frayhold::desk {
namespace {

std::string hash_of(const std::string& secret) {
    return photo::sha256_hex(std::as_bytes(std::span(secret)));
}

}  // namespace

record::Device Desk::pair_device(const std::string& name, const std::string& holder, record::Role role,
                                 const std::string& secret) {
    inside_->need_person();
    need_words(tr("the phone's name"), name, tr("say whose phone it is"));
    need_words(tr("your name"), holder, tr("say who takes the photos"));
    const Time now = inside_->now();
    store::Transaction transaction(inside_->database(), store::Transaction::Purpose::write);
    record::Device device;
    device.name = record::trimmed(name);
    device.holder = record::trimmed(holder);
    device.role = role;
    device.paired_by = inside_->setup.who;
    device.paired = now;
    device = store::insert_device(inside_->database(), std::move(device), hash_of(secret));
    inside_->tell_journal(now, "device.pair", device.name,
                          {{"number", device.number},
                           {"name", device.name},
                           {"holder", device.holder},
                           {"role", name_of(device.role)}});
    transaction.commit();
    return device;
}

record::Device Desk::revoke_device(int number) {
    inside_->need_person();
    const Time now = inside_->now();
    store::Transaction transaction(inside_->database(), store::Transaction::Purpose::write);
    std::vector<record::Device> all = store::all_devices(inside_->database());
    const auto found = std::find_if(all.begin(), all.end(),
                                    [&](const record::Device& device) { return device.number == number; });
    const std::string where = trf("phone {}", number);
    if (found == all.end())
        throw Failure(Fault::input, where, "there is no such phone", "look it up among the paired phones");
    if (found->revoked)
        throw Failure(Fault::refused, where, "it is revoked already", "pair it again to use it");
    found->revoked = now;
    found->revoked_by = inside_->setup.who;
    store::set_device_revoked(inside_->database(), *found);
    inside_->tell_journal(now, "device.revoke", found->name, {{"number", number}, {"name", found->name}});
    transaction.commit();
    return *found;
}

std::vector<record::Device> Desk::devices() const {
    return store::all_devices(inside_->database());
}

std::optional<record::Device> Desk::paired_device(const std::string& secret) const {
    std::optional<record::Device> device = store::device_with(inside_->database(), hash_of(secret));
    if (device && device->revoked) return std::nullopt;
    return device;
}

}  // namespace frayhold::desk
