package relay

import (
	"context"
	"errors"
	"fmt"
	"io"
	"net/http"
	"net/url"
	"strings"

	"evenhand/draw/beacon"
)

// ask gets one round from one relay and verifies it. Its errors quote nothing
// of the answer's body.
func (c Client) ask(ctx context.Context, relay string, chain beacon.Chain, round uint64) ([]byte, error) {
	ctx, cancel := context.WithTimeout(ctx, orElse(c.Each, defaultEach))
	defer cancel()
	body, err := c.get(ctx, relay, fmt.Sprintf("/%s/public/%d", chain.HashHex(), round))
	if err != nil {
		return nil, err
	}
	got, sig, err := ParseAnswer(body)
	if err != nil {
		return nil, err
	}
	if got != round {
		return nil, fmt.Errorf("%w: %d", ErrWrongRound, got)
	}
	if err := chain.Verify(round, sig); err != nil {
		return nil, err
	}
	return sig, nil
}

// get returns the body of a successful answer, at most maxAnswer bytes.
func (c Client) get(ctx context.Context, relay, path string) ([]byte, error) {
	base, err := parseRelay(relay)
	if err != nil {
		return nil, err
	}
	req, err := http.NewRequestWithContext(ctx, http.MethodGet, base+path, nil)
	if err != nil {
		return nil, errors.New("its address is malformed")
	}
	req.Header.Set("Accept", "application/json")
	resp, err := c.stayingOnHost().Do(req)
	if err != nil {
		return nil, plain(err)
	}
	defer resp.Body.Close()
	switch resp.StatusCode {
	case http.StatusOK:
	case http.StatusNotFound, http.StatusTooEarly:
		return nil, fmt.Errorf("%w (status %d)", ErrNotYet, resp.StatusCode)
	default:
		return nil, fmt.Errorf("status %d", resp.StatusCode)
	}
	body, err := io.ReadAll(io.LimitReader(resp.Body, maxAnswer+1))
	if err != nil {
		return nil, plain(err)
	}
	if len(body) > maxAnswer {
		return nil, fmt.Errorf("answer is longer than %d bytes", maxAnswer)
	}
	return body, nil
}

// parseRelay checks a relay's base address: http or https, a host, perhaps a
// path, nothing else. It returns it without a slash at the end.
func parseRelay(relay string) (string, error) {
	u, err := url.Parse(relay)
	if err != nil || u.Scheme != "https" && u.Scheme != "http" || u.Host == "" ||
		u.User != nil || u.RawQuery != "" || u.Fragment != "" {
		return "", errors.New("its address is not like https://host")
	}
	return strings.TrimRight(relay, "/"), nil
}

// stayingOnHost returns the HTTP client with redirects kept on the host that
// was asked, so that a value's From is true, and never from https to http.
func (c Client) stayingOnHost() *http.Client {
	var client http.Client
	if c.HTTP != nil {
		client = *c.HTTP
	}
	client.CheckRedirect = func(req *http.Request, via []*http.Request) error {
		first := via[0].URL
		if req.URL.Host != first.Host || req.URL.Scheme != first.Scheme {
			return errors.New("redirects to another host")
		}
		if len(via) > 3 {
			return errors.New("redirects more than three times")
		}
		return nil
	}
	return &client
}

// plain strips the method and address that the HTTP client puts before its
// errors, since the relay is named already.
func plain(err error) error {
	if wrapped, ok := errors.AsType[*url.Error](err); ok {
		err = wrapped.Err
	}
	if errors.Is(err, context.DeadlineExceeded) {
		return fmt.Errorf("no answer in time: %w", context.DeadlineExceeded)
	}
	return err
}
