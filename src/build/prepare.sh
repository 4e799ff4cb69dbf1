# SPDX-License-Identifier: Apache-2.0
# For src/run-demo and tests/run: what a clean Debian 12 machine needs before it can build.

# is_there <package>: whether it is installed, or another installed package provides it.
is_there() {
    [[ $(dpkg-query -W -f='${db:Status-Status}' "$1" 2>/dev/null) == installed ]] ||
        dpkg-query -W -f='${db:Status-Status} ${Provides},\n' | grep -E "^installed (.*, )?$1( \\(.*\\))?," >/dev/null
}

# install_packages <need>...: the packages that src/packages lists for these needs. Does nothing, and asks for no
# rights, where all are there.
install_packages() {
    local need package kind missing=()
    while read -r kind package; do
        for need in "$@"; do
            if [[ $kind == "$need" ]] && ! is_there "$package"; then
                missing+=("$package")
            fi
        done
    done < <(grep -v '^#' src/packages)
    if ((${#missing[@]} == 0)); then
        return
    fi
    echo "Installing ${#missing[@]} Debian packages: ${missing[*]}"
    local as_root=()
    if ((EUID != 0)); then
        as_root=(sudo)
    fi
    "${as_root[@]}" apt-get update -q
    "${as_root[@]}" env DEBIAN_FRONTEND=noninteractive \
        apt-get install -q -y --no-install-recommends "${missing[@]}"
}

# configure <folder> <cmake option>...
configure() {
    local folder=$1
    shift
    cmake -S . -B "$folder" -G Ninja -DCMAKE_BUILD_TYPE=Release -DFRAYHOLD_TOGETHER=ON "$@"
}
