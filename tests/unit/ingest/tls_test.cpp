// TLS against the real broker with certificates made on the spot: whom the client believes, and
// that only the authority it was given counts.
#include "broker.h"

namespace clutchward::ingest_test {
namespace {

class Tls : public ::testing::Test {
 protected:
  static void SetUpTestSuite() {
    broker_ = std::make_unique<Broker>("", false);
    const TempDir& dir = broker_->dir();
    authority("ca");
    authority("other");
    certificate("server", "ca", "DNS:localhost");
    certificate("client", "ca", "DNS:clutchward");
    certificate("stranger", "other", "DNS:clutchward");
    broker_->add("allow_anonymous true\ncafile " + (dir / "ca.crt") + "\ncertfile " +
                 (dir / "server.crt") + "\nkeyfile " + (dir / "server.key") +
                 "\nrequire_certificate true\n");
    broker_->start();
  }
  static void TearDownTestSuite() { broker_.reset(); }

  static void shell(const std::string& command) {
    ASSERT_EQ(0, wait_exit(spawn({"sh", "-ec", command}, broker_->dir() / "openssl")))
        << contents(broker_->dir() / "openssl");
  }
  static void authority(const std::string& name) {
    shell("cd " + (broker_->dir() / "") + " && openssl req -x509 -newkey ec -pkeyopt " +
          "ec_paramgen_curve:prime256v1 -nodes -days 2 -subj /CN=" + name + " -keyout " + name +
          ".key -out " + name + ".crt");
  }
  static void certificate(const std::string& name, const std::string& by,
                          const std::string& subject) {
    shell("cd " + (broker_->dir() / "") + " && openssl req -newkey ec -pkeyopt " +
          "ec_paramgen_curve:prime256v1 -nodes -subj /CN=" + name + " -keyout " + name +
          ".key -out " + name + ".csr && echo subjectAltName=" + subject + " > " + name +
          ".ext && openssl x509 -req -days 2 -in " + name + ".csr -CA " + by + ".crt -CAkey " + by +
          ".key -CAcreateserial -extfile " + name + ".ext -out " + name + ".crt && chmod 644 " +
          name + ".key");
  }
  static MqttOptions options(const std::string& host) {
    MqttOptions options = options_for("mqtts://" + host + ":" + std::to_string(broker_->port()));
    options.ca_file = broker_->dir() / "ca.crt";
    options.certificate_file = broker_->dir() / "client.crt";
    options.key_file = broker_->dir() / "client.key";
    return options;
  }
  static inline std::unique_ptr<Broker> broker_;
};

TEST_F(Tls, ConnectsWhereNameAuthorityAndOwnCertificateAreRight) {
  Listener listener(options("localhost"));
  EXPECT_TRUE(listener.sees(LinkState::connected)) << listener.all() << broker_->log();
}

TEST_F(Tls, RefusesAnotherHostName) {
  Listener listener(options("127.0.0.1"));
  const Heard* unreachable = listener.link(LinkState::unreachable);
  ASSERT_NE(nullptr, unreachable) << listener.all();
  EXPECT_EQ(
      "no connection to the broker (address, host name in its certificate, CA file, or our "
      "clock?): TCP/TLS connect failure",
      unreachable->payload);
  EXPECT_EQ(0, listener.links(LinkState::connected));
}

TEST_F(Tls, RefusesAnotherAuthority) {
  MqttOptions other = options("localhost");
  other.ca_file = broker_->dir() / "other.crt";
  Listener listener(other);
  EXPECT_NE(nullptr, listener.link(LinkState::unreachable)) << listener.all();
  EXPECT_EQ(0, listener.links(LinkState::connected));
}

TEST_F(Tls, DoesNotFallBackToTheSystemsAuthorities) {
  // OpenSSL takes the system's store from this variable: here it would accept the broker.
  ::setenv("SSL_CERT_FILE", (broker_->dir() / "ca.crt").c_str(), 1);
  {
    MqttOptions system = options("localhost");
    system.ca_file.clear();
    Listener listener(system);
    EXPECT_TRUE(listener.sees(LinkState::connected)) << listener.all();
  }
  {
    MqttOptions other = options("localhost");
    other.ca_file = broker_->dir() / "other.crt";
    Listener listener(other);
    EXPECT_NE(nullptr, listener.link(LinkState::unreachable)) << listener.all();
    EXPECT_EQ(0, listener.links(LinkState::connected));
  }
  ::unsetenv("SSL_CERT_FILE");
}

TEST_F(Tls, IsTurnedAwayWithoutTheRightCertificateOfItsOwn) {
  MqttOptions stranger = options("localhost");
  stranger.certificate_file = broker_->dir() / "stranger.crt";
  stranger.key_file = broker_->dir() / "stranger.key";
  Listener listener(stranger);
  EXPECT_NE(nullptr, listener.link(LinkState::unreachable)) << listener.all();
  EXPECT_EQ(0, listener.links(LinkState::connected));
}

}  // namespace
}  // namespace clutchward::ingest_test
