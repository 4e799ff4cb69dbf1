// SPDX-License-Identifier: Apache-2.0
#include "store/bucket.h"

#include <curl/curl.h>
#include <fmt/format.h>
#include <libxml/parser.h>
#include <libxml/tree.h>
#include <sys/stat.h>

#include <algorithm>
#include <chrono>
#include <cstring>
#include <fstream>
#include <string_view>
#include <thread>

#include "language/tr.h"
#include "photo/sha256.h"
#include "units/error.h"

namespace frayhold::store {
namespace {

namespace fs = std::filesystem;

constexpr const char* mark_name = "/frayhold-originals";
constexpr std::size_t largest_object = std::size_t{1} << 30;

std::string_view host_of(std::string_view url) {
    std::string_view rest = url.substr(url.find("//") + 2);
    return rest.substr(0, rest.find('/'));
}

bool is_this_machine(std::string_view host) {
    for (const std::string_view own : {"127.0.0.1", "localhost", "[::1]"})
        if (host == own || (host.starts_with(own) && host.substr(own.size()).starts_with(":"))) return true;
    return false;
}

// Letters that stand for themselves in an address and in what is signed.
bool is_plain(std::string_view text) {
    return std::all_of(text.begin(), text.end(), [](char c) {
        return (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
               std::strchr("-._~/:[]", c) != nullptr;
    });
}

// RFC 3986, section 2.3, as the signature asks for it.
std::string encoded(std::string_view text) {
    std::string out;
    for (const char c : text) {
        const bool itself = (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') ||
                            (c != '\0' && std::strchr("-._~", c) != nullptr);
        out += itself ? std::string(1, c) : fmt::format("%{:02X}", static_cast<unsigned char>(c));
    }
    return out;
}

std::string key_in(const fs::path& file) {
    struct stat facts {};
    if (::stat(file.c_str(), &facts) != 0)
        throw Failure(Fault::input, file.string(), "the file with the bucket's key cannot be read",
                      "check its name");
    if ((facts.st_mode & 077) != 0)
        throw Failure(Fault::input, file.string(), "others may read the bucket's key",
                      "make the file yours alone: chmod 600");
    std::ifstream in(file);
    std::string line;
    std::getline(in, line);
    const std::size_t colon = line.find(':');
    if (colon == std::string::npos || colon == 0 || colon + 1 == line.size())
        throw Failure(Fault::input, file.string(), "the file holds no key",
                      "write one line into it: id:secret");
    return line;
}

std::size_t take_bytes(const char* data, std::size_t, std::size_t size, void* into) {
    auto& bytes = *static_cast<std::vector<std::byte>*>(into);
    if (bytes.size() + size > largest_object) return 0;
    const auto* begin = reinterpret_cast<const std::byte*>(data);
    bytes.insert(bytes.end(), begin, begin + size);
    return size;
}

std::size_t give_bytes(char* into, std::size_t, std::size_t size, void* from) {
    auto& left = *static_cast<std::span<const std::byte>*>(from);
    const std::size_t part = std::min(size, left.size());
    std::memcpy(into, left.data(), part);
    left = left.subspan(part);
    return part;
}

struct Answer {
    long status = 0;  // of HTTP; 0 where none came
    std::vector<std::byte> bytes;
    std::string fault;  // libcurl's words where none came

    [[nodiscard]] bool may_pass() const { return status == 0 || status == 429 || status >= 500; }
};

[[noreturn]] void fail(const std::string& place, const std::string& what, const Answer& answer) {
    if (answer.status == 0)
        throw Failure(Fault::outside, place, what + ": " + answer.fault, "check the address and the network");
    if (answer.status == 401 || answer.status == 403)
        throw Failure(Fault::outside, place, what + ": " + tr("the service refuses the key"),
                      "check the key, the region and this machine's clock");
    throw Failure(Fault::outside, place, what + ": " + trf("the service answers {}", answer.status),
                  "try again; if it stays, ask who runs the service");
}

// The text of every element of this name.
std::vector<std::string> texts_of(const xmlNode* node, std::string_view name) {
    std::vector<std::string> texts;
    for (; node != nullptr; node = node->next) {
        if (node->type != XML_ELEMENT_NODE) continue;
        if (name == reinterpret_cast<const char*>(node->name)) {
            xmlChar* text = xmlNodeGetContent(node);
            texts.emplace_back(reinterpret_cast<const char*>(text));
            xmlFree(text);
        }
        for (std::string& deeper : texts_of(node->children, name)) texts.push_back(std::move(deeper));
    }
    return texts;
}

struct Listing {
    std::vector<std::string> keys;
    std::string next;  // empty at the end
};

Listing parsed_listing(const std::string& place, const std::vector<std::byte>& bytes) {
    const std::unique_ptr<xmlDoc, decltype(&xmlFreeDoc)> document(
        xmlReadMemory(reinterpret_cast<const char*>(bytes.data()), static_cast<int>(bytes.size()), "listing",
                      nullptr, XML_PARSE_NONET | XML_PARSE_NOERROR | XML_PARSE_NOWARNING),
        xmlFreeDoc);
    const xmlNode* root = document ? xmlDocGetRootElement(document.get()) : nullptr;
    if (root == nullptr || std::string_view("ListBucketResult") != reinterpret_cast<const char*>(root->name))
        throw Failure(Fault::outside, place, "the service gives no list of its objects", "check the address");
    Listing listing{texts_of(root->children, "Key"), ""};
    const std::vector<std::string> truncated = texts_of(root->children, "IsTruncated");
    const std::vector<std::string> next = texts_of(root->children, "NextContinuationToken");
    if (!truncated.empty() && truncated.front() == "true" && !next.empty()) listing.next = next.front();
    return listing;
}

}  // namespace

// One connection, kept open from request to request.
class Bucket::Line {
  public:
    explicit Line(const BucketPlace& place)
        : place_(place),
          curl_(curl_easy_init(), curl_easy_cleanup),
          provider_("aws:amz:" + place.region + ":s3") {}

    Answer ask(const std::string& method, const std::string& url, std::span<const std::byte> body = {}) {
        constexpr int tries = 3;
        Answer answer;
        for (int turn = 0; turn < tries; ++turn) {
            if (turn > 0) std::this_thread::sleep_for(std::chrono::milliseconds(200) * turn * turn);
            answer = ask_once(method, url, body);
            if (!answer.may_pass()) break;
        }
        return answer;
    }

  private:
    Answer ask_once(const std::string& method, const std::string& url, std::span<const std::byte> body) {
        CURL* curl = curl_.get();
        curl_easy_reset(curl);
        Answer answer;
        const auto set = [&](CURLoption option, auto value) { curl_easy_setopt(curl, option, value); };
        const std::string hash = "x-amz-content-sha256: " + photo::sha256_hex(body);
        const std::unique_ptr<curl_slist, decltype(&curl_slist_free_all)> headers(
            curl_slist_append(nullptr, hash.c_str()), curl_slist_free_all);
        set(CURLOPT_URL, url.c_str());
        set(CURLOPT_HTTPHEADER, headers.get());
        set(CURLOPT_AWS_SIGV4, provider_.c_str());
        set(CURLOPT_USERPWD, place_.key.c_str());
        set(CURLOPT_PROTOCOLS_STR, "https,http");
        set(CURLOPT_NOSIGNAL, 1L);
        set(CURLOPT_CONNECTTIMEOUT, 15L);
        set(CURLOPT_LOW_SPEED_LIMIT, 100L);
        set(CURLOPT_LOW_SPEED_TIME, 30L);
        set(CURLOPT_WRITEFUNCTION, take_bytes);
        set(CURLOPT_WRITEDATA, &answer.bytes);
        if (method == "HEAD") set(CURLOPT_NOBODY, 1L);
        if (method == "PUT") {
            set(CURLOPT_UPLOAD, 1L);
            set(CURLOPT_READFUNCTION, give_bytes);
            set(CURLOPT_READDATA, &body);
            set(CURLOPT_INFILESIZE_LARGE, static_cast<curl_off_t>(body.size()));
        }
        const CURLcode code = curl_easy_perform(curl);
        if (code != CURLE_OK) {
            answer.fault = curl_easy_strerror(code);
            return answer;
        }
        curl_easy_getinfo(curl, CURLINFO_RESPONSE_CODE, &answer.status);
        return answer;
    }

    const BucketPlace& place_;
    std::unique_ptr<CURL, decltype(&curl_easy_cleanup)> curl_;
    std::string provider_;
};

bool is_bucket_address(const std::string& words) {
    return words.starts_with("https://") || words.starts_with("http://");
}

BucketPlace bucket_place(const std::string& address, const fs::path& key_file) {
    const auto refuse = [&](const std::string& what) {
        throw Failure(Fault::usage, "--photos", what,
                      "write https://HOST/BUCKET, or add /FOLDER and ?region=REGION");
    };
    BucketPlace place;
    const std::size_t query = address.find('?');
    place.url = address.substr(0, query);
    while (place.url.ends_with('/')) place.url.pop_back();
    place.region = "us-east-1";
    if (query != std::string::npos) {
        const std::string words = address.substr(query + 1);
        const std::string name = "region=";
        if (!words.starts_with(name) || !is_plain(words.substr(name.size())))
            refuse(tr("the bucket's address has parts that are not known"));
        place.region = words.substr(name.size());
    }
    const std::string_view host = host_of(place.url);
    if (!is_plain(place.url) || host.empty() || place.url.size() <= place.url.find(host) + host.size() + 1)
        refuse(tr("this is no bucket's address"));
    if (place.url.starts_with("http://") && !is_this_machine(host))
        refuse(tr("without https others could read the photos on their way"));
    if (key_file.empty())
        throw Failure(Fault::usage, "--photos-key", "no file with the bucket's key is named",
                      "give --photos-key FILE or set FRAYHOLD_PHOTOS_KEY");
    place.key = key_in(key_file);
    return place;
}

Bucket::Bucket(BucketPlace place) : place_(std::move(place)), line_(std::make_unique<Line>(place_)) {}
Bucket::~Bucket() = default;

std::string Bucket::place_of(const std::string& sha256) const {
    return place_.url + "/" + sha256.substr(0, 2) + "/" + sha256;
}

std::string Bucket::keep(std::span<const std::byte> bytes) {
    std::string sha256 = photo::sha256_hex(bytes);
    if (condition(sha256) == Condition::sound) return sha256;
    put(place_of(sha256), bytes);
    return sha256;
}

void Bucket::put(const std::string& place, std::span<const std::byte> bytes) {
    const Answer answer = line_->ask("PUT", place, bytes);
    if (answer.status < 200 || answer.status > 204) fail(place, tr("the bytes cannot be kept"), answer);
}

std::vector<std::byte> Bucket::read(const std::string& sha256) const {
    const std::string place = place_of(sha256);
    Answer answer = line_->ask("GET", place);
    if (answer.status == 404)
        throw Failure(Fault::outside, place, "the kept file is missing", "restore it from a backup");
    if (answer.status != 200) fail(place, tr("the kept file cannot be read"), answer);
    if (photo::sha256_hex(answer.bytes) != sha256)
        throw Failure(Fault::outside, place, "the kept file was altered: its SHA-256 is another",
                      "restore it from a backup");
    return std::move(answer.bytes);
}

Originals::Condition Bucket::condition(const std::string& sha256) const {
    const Answer answer = line_->ask("GET", place_of(sha256));
    if (answer.status == 404) return Condition::missing;
    if (answer.status != 200) return Condition::unreadable;
    return photo::sha256_hex(answer.bytes) == sha256 ? Condition::sound : Condition::altered;
}

bool Bucket::is_marked() const {
    const std::string place = place_.url + mark_name;
    const Answer answer = line_->ask("HEAD", place);
    if (answer.status != 200 && answer.status != 404) fail(place, tr("the bucket cannot be used"), answer);
    return answer.status == 200;
}

void Bucket::mark() {
    put(place_.url + mark_name, {});
}

std::vector<std::string> Bucket::list() const {
    // "https://host/bucket/folder": the folder is a beginning of the objects' names.
    const std::size_t bucket = place_.url.find('/', place_.url.find("//") + 2) + 1;
    const std::size_t end = place_.url.find('/', bucket);
    const std::string folder = end == std::string::npos ? "" : place_.url.substr(end + 1) + "/";
    const std::string base = place_.url.substr(0, end);
    std::vector<std::string> names;
    std::string next;
    do {
        const std::string from = next.empty() ? "" : "continuation-token=" + encoded(next) + "&";
        const std::string url = base + "?" + from + "list-type=2&prefix=" + encoded(folder);
        const Answer answer = line_->ask("GET", url);
        if (answer.status != 200) fail(base, tr("the kept files cannot be listed"), answer);
        Listing listing = parsed_listing(base, answer.bytes);
        for (const std::string& key : listing.keys) {
            if (base + "/" + key == place_.url + mark_name) continue;
            const std::string name = key.substr(key.rfind('/') + 1);
            const bool in_place = name.size() == 64 && base + "/" + key == place_of(name);
            names.push_back(in_place ? name : base + "/" + key);
        }
        next = listing.next;
    } while (!next.empty());
    std::sort(names.begin(), names.end());
    return names;
}

}  // namespace frayhold::store
