// SPDX-License-Identifier: Apache-2.0
#include "web/certificate.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <openssl/bn.h>
#include <openssl/evp.h>
#include <openssl/pem.h>
#include <openssl/x509v3.h>
#include <sys/stat.h>

#include <array>
#include <cstdio>

#include "language/tr.h"
#include "units/error.h"

namespace frayhold::web {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void cannot(const std::string& where, const std::string& what) {
    throw Failure(Fault::outside, where, what, "check the folder, or ask for --plain");
}

void need(bool done) {
    if (!done) cannot(tr("certificate"), tr("it cannot be made"));
}

struct CloseFile {
    void operator()(std::FILE* file) const { std::fclose(file); }
};
using File = std::unique_ptr<std::FILE, CloseFile>;

File open_for_owner(const fs::path& path) {
    const int descriptor = open(path.c_str(), O_WRONLY | O_CREAT | O_TRUNC | O_CLOEXEC, S_IRUSR | S_IWUSR);
    if (descriptor < 0) cannot(path.string(), tr("the file cannot be written"));
    return File(fdopen(descriptor, "w"));
}

std::shared_ptr<X509> read_certificate(const fs::path& path) {
    const File file(std::fopen(path.c_str(), "r"));
    return {file ? PEM_read_X509(file.get(), nullptr, nullptr, nullptr) : nullptr, X509_free};
}

std::shared_ptr<EVP_PKEY> read_key(const fs::path& path) {
    const File file(std::fopen(path.c_str(), "r"));
    return {file ? PEM_read_PrivateKey(file.get(), nullptr, nullptr, nullptr) : nullptr, EVP_PKEY_free};
}

void add_extension(X509* certificate, int kind, const std::string& value) {
    const std::unique_ptr<X509_EXTENSION, decltype(&X509_EXTENSION_free)> extension(
        X509V3_EXT_conf_nid(nullptr, nullptr, kind, value.c_str()), X509_EXTENSION_free);
    need(extension != nullptr && X509_add_ext(certificate, extension.get(), -1) == 1);
}

bool serves(X509* certificate, const std::string& address) {
    std::time_t in_a_month = std::time(nullptr) + 30L * 24 * 60 * 60;
    return X509_cmp_time(X509_get0_notAfter(certificate), &in_a_month) > 0 &&
           X509_check_ip_asc(certificate, address.c_str(), 0) == 1;
}

}  // namespace

Certificate Certificate::made_for(const std::string& address) {
    std::shared_ptr<EVP_PKEY> key(EVP_EC_gen("P-256"), EVP_PKEY_free);
    std::shared_ptr<X509> certificate(X509_new(), X509_free);
    need(key != nullptr && certificate != nullptr);
    X509* const made = certificate.get();
    constexpr int version_3 = 2, serial_bits = 127;
    constexpr long two_years = 2L * 365 * 24 * 60 * 60, an_hour = 60L * 60;
    const std::unique_ptr<BIGNUM, decltype(&BN_free)> serial(BN_new(), BN_free);
    need(BN_rand(serial.get(), serial_bits, BN_RAND_TOP_ONE, BN_RAND_BOTTOM_ANY) == 1);
    need(BN_to_ASN1_INTEGER(serial.get(), X509_get_serialNumber(made)) != nullptr);
    need(X509_set_version(made, version_3) == 1);
    X509_gmtime_adj(X509_getm_notBefore(made), -an_hour);
    X509_gmtime_adj(X509_getm_notAfter(made), two_years);
    need(X509_set_pubkey(made, key.get()) == 1);
    X509_NAME* const name = X509_get_subject_name(made);
    const std::string common = "Frayhold bench";
    need(X509_NAME_add_entry_by_txt(name, "CN", MBSTRING_UTF8,
                                    reinterpret_cast<const unsigned char*>(common.c_str()), -1, -1, 0) == 1);
    need(X509_set_issuer_name(made, name) == 1);
    add_extension(made, NID_subject_alt_name, "IP:" + address);
    add_extension(made, NID_basic_constraints, "critical,CA:FALSE");
    add_extension(made, NID_ext_key_usage, "serverAuth");
    need(X509_sign(made, key.get(), EVP_sha256()) > 0);
    return {std::move(certificate), std::move(key)};
}

Certificate Certificate::kept_in(const fs::path& folder, const std::string& address) {
    const fs::path certificate_file = folder / "bench-net.crt", key_file = folder / "bench-net.key";
    const auto certificate = read_certificate(certificate_file);
    const auto key = read_key(key_file);
    if (certificate && key && X509_check_private_key(certificate.get(), key.get()) == 1 &&
        serves(certificate.get(), address))
        return {certificate, key};

    std::error_code fault;
    fs::create_directories(folder, fault);
    if (fault) cannot(folder.string(), tr("the folder for the certificate cannot be made"));
    Certificate made = made_for(address);
    const File key_out = open_for_owner(key_file), certificate_out = open_for_owner(certificate_file);
    need(PEM_write_PrivateKey(key_out.get(), made.key(), nullptr, nullptr, 0, nullptr, nullptr) == 1);
    need(PEM_write_X509(certificate_out.get(), made.certificate()) == 1);
    return made;
}

std::string Certificate::fingerprint() const {
    std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
    unsigned int size = 0;
    need(X509_digest(certificate_.get(), EVP_sha256(), digest.data(), &size) == 1);
    std::string text;
    for (unsigned int i = 0; i < size; ++i) text += fmt::format("{}{:02X}", i == 0 ? "" : ":", digest[i]);
    return text;
}

}  // namespace frayhold::web
